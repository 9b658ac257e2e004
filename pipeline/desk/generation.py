"""One generation of a season file, opened once and read by every request with its own cursor."""

import os
import tempfile
from collections.abc import Callable, Generator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from functools import cache, cached_property
from importlib import resources
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Any

import duckdb
import polars as pl

from checks.rules import BY_CODE
from pipeline.book.macros import load_macros
from pipeline.intake.kinds import kinds
from pipeline.season.flag_frame import flags, flags_frame
from pipeline.season.flags import Flag
from pipeline.season.near import NearMatches
from pipeline.season.tables import connect, dicts, rows
from pipeline.settings import Settings

# Tables in memory, made by `quick.sql`, go before those of the same name in the file.
USE = "set search_path = 'quick,season_file'"


@cache
def desk_sql(name: str) -> str:
    """Return the text of one named query of this package."""
    return resources.files("pipeline.desk").joinpath(f"sql/{name}.sql").read_text("utf-8")


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """What a season comes to, worked out once a generation: rows of the named queries."""

    season: dict[str, Any]
    stations: list[dict[str, Any]]
    weeks: list[dict[str, Any]]
    moisture: list[dict[str, Any]]
    rules: list[dict[str, Any]]
    villages: list[dict[str, Any]]


class Generation:
    """A season file that nobody changes any more: its queue and totals as tables in memory.

    `in_order`: whether all is in memory, and packed, that makes pages quick; without, they read the
    file.
    """

    def __init__(self, path: Path, settings: Settings) -> None:
        self.path = path
        self.settings = settings
        # What is open already is opened again at no cost: by who decides, and who writes what is
        # to be corrected.
        self._held = connect(str(path))
        self._con = connect(":memory:", read_only=False, macros=True, threads=1)
        # What does not fit while tables are made goes here; DuckDB's own choice is where we stand.
        spill = str(Path(tempfile.gettempdir()) / f"weighbook-desk-{os.getpid()}")
        self._con.execute("set temp_directory = ?", [spill])
        quoted = str(path).replace("'", "''")
        self._con.execute(f"attach '{quoted}' as season_file (read_only)")
        # What pages ask of one member or village, in that order, so that a look at one goes past
        # no other; every cursor sees it. Packed, two million weighings take some 50 MB: these come
        # with `put_in_order`.
        self._con.execute("attach ':memory:' as quick (compress)")
        self._con.execute(desk_sql("quick"))
        self._con.execute(USE)
        facts = rows(self._con, "select season, journal_n, whole from file_facts")[0]
        self.season: str = facts[0]
        self.journal_n: int = facts[1]
        self.whole: bool = facts[2]
        self._formulas: SimpleQueue[duckdb.DuckDBPyConnection] = SimpleQueue()
        self._found: dict[str, dict[Any, Any]] = {}
        self.in_order = False
        self.queue = _ranked(flags_frame(self._con), self._days())
        self.sheets = {row["sheet_no"]: row for row in dicts(self._con, desk_sql("sheets"))}

    def put_in_order(self) -> None:
        """Do beforehand, where there is time, what makes every page quick; they go without."""
        with self.cursor() as con:
            con.execute(desk_sql("in_order"))
            # While a page is read nothing can be packed, and to wait for it would make all pages
            # wait: it is tried again when this is called the next time.
            with suppress(duckdb.TransactionException):
                con.execute("checkpoint quick")
                self.in_order = True
        _ = self.totals, self._near

    @cached_property
    def totals(self) -> Totals:
        """What the season comes to."""
        return Totals(
            season=self.ask("totals")[0],
            stations=self.ask("by_station"),
            weeks=self.ask("by_week"),
            moisture=self.ask("by_moisture"),
            rules=self.ask("by_rule"),
            villages=self.ask("villages"),
        )

    @cached_property
    def _near(self) -> NearMatches:
        with self.cursor() as con:
            return NearMatches(con)

    def _days(self) -> pl.DataFrame:
        """Return the civil day of each flag's row, for the kinds that have one."""
        dated = [kind for kind in kinds().values() if kind.day]
        text = " union all ".join(
            f"select f.flag, r.{kind.day} as on_day from flags f join rows_{kind.name} r "
            f"on f.kind = '{kind.name}' and r.sheet_no = f.sheet_no and r.row_no = f.row_no"
            for kind in dated
        )
        return self._con.sql(text).pl().unique("flag", keep="first", maintain_order=True)

    @contextmanager
    def cursor(self) -> Generator[duckdb.DuckDBPyConnection]:
        """Give a request a cursor of its own on the shared connection."""
        cursor = self._con.cursor()
        cursor.execute(USE)
        try:
            yield cursor
        finally:
            cursor.close()

    @contextmanager
    def formulas(self) -> Generator[duckdb.DuckDBPyConnection]:
        """Give a request a cursor that knows the trade's formulas; these are kept for others."""
        try:
            cursor = self._formulas.get_nowait()
        except Empty:
            cursor = self._con.cursor()
            cursor.execute(USE)
            # Each cursor has to load them for itself, which takes longer than most queries.
            load_macros(cursor)
        try:
            yield cursor
        finally:
            self._formulas.put(cursor)

    def remembered(
        self, what: str, find: Callable[[duckdb.DuckDBPyConnection], dict[Any, Any]]
    ) -> dict[Any, Any]:
        """Return what was found once under a name; the file never changes."""
        if what not in self._found:
            with self.cursor() as con:
                self._found[what] = find(con)
        return self._found[what]

    def ask(self, name: str, **values: object) -> list[dict[str, Any]]:
        """Return the rows of a named query of this package."""
        with self.cursor() as con:
            return dicts(con, desk_sql(name), values or None)

    def told(self, numbers: list[str], language: str = "en") -> list[Flag]:
        """Return flags by their full numbers, with their sentences, the costliest first."""
        return self._flags(numbers, None, language)

    def told_as_written(
        self, number: str, written: Callable[[pl.DataFrame], dict[tuple[int, int, str], str]]
    ) -> Flag:
        """Return one flag with its value as its sheet wrote it."""
        return self._flags([number], written, "en")[0]

    def _flags(self, numbers: list[str], written: Any, language: str) -> list[Flag]:
        some = self.queue.filter(pl.col("flag").is_in(numbers))
        with self.cursor() as con:
            return flags(
                con,
                self.settings.decimals,
                language,
                written=written,
                frame=some,
                near=self._near,
            )


def _ranked(frame: pl.DataFrame, days: pl.DataFrame) -> pl.DataFrame:
    """Return the flags in the order of the queue: money at stake times how sure the rule is."""
    sure = pl.DataFrame(
        {"rule": list(BY_CODE), "sure": [rule.sure for rule in BY_CODE.values()]},
        schema={"rule": pl.String, "sure": pl.Float64},
    )
    return (
        frame.join(sure, on="rule", how="left", maintain_order="left")
        .join(days, on="flag", how="left", maintain_order="left")
        .with_columns((pl.col("minor_at_stake").fill_null(0) * pl.col("sure")).alias("weight"))
        .sort(["weight", "sure", "flag"], descending=[True, True, False])
    )
