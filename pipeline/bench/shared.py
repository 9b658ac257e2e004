"""The work that a capable analyst does with pandas, done by each side: read, check, total.

Each side runs in a process of its own and finds the same rows; great-expectations reads and totals
with pandas, and only checks by itself.
"""

import time
from collections.abc import Callable
from contextlib import ExitStack, closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

import duckdb

from checks.engine import tally
from pipeline.ahead import Ahead
from pipeline.bench.peak import peak_mib
from pipeline.bench.season import AT, SEASON
from pipeline.book.book import new_book, writing
from pipeline.keep import keep_by_day
from pipeline.samples.sheets import by_week
from pipeline.season.next_file import NextFile
from pipeline.season.tables import rows, season_sql
from pipeline.settings import Settings, read_settings

Result = TypeVar("Result")


@dataclass(frozen=True, slots=True, kw_only=True)
class Shared:
    """What one side took: seconds by the clock, MiB, what each check found, kilograms in all."""

    read_s: float
    checks_s: float
    totals_s: float
    peak_mib: float
    found: dict[str, int]
    kg: float

    @property
    def whole_s(self) -> float:
        """Return the seconds from the sheets to the totals."""
        return self.read_s + self.checks_s + self.totals_s


def _timed(work: Callable[[], Result]) -> tuple[Result, float]:
    began = time.perf_counter()
    result = work()
    return result, time.perf_counter() - began


def ours(folder: Path, scratch: Path, codes: list[str]) -> Shared:
    """Keep, read, type and store all sheets, run these rules on the weighings, total by member.

    More than the others do: the bytes are kept, and every row knows its sheet and line.
    """
    book = new_book(scratch, (folder / "book.toml").read_text("utf-8"), AT)
    days = by_week(folder / "season")
    with ExitStack() as held:

        def read() -> duckdb.DuckDBPyConnection:
            ahead = held.enter_context(closing(Ahead(book)))
            with writing(book):
                kept = keep_by_day(book, days, by="bench", at=AT, ahead=ahead)
            file = ahead.file(SEASON, kept.journal) or NextFile(
                book, kept.journal, SEASON, fresh=True
            )
            held.enter_context(closing(file)).apply(kept.journal, kept.reader)
            file.con.execute("commit")
            return file.con

        con, read_s = _timed(read)

        def check() -> dict[str, int]:
            # Whom the register knows: the other sides take its column of numbers as it is.
            con.execute(season_sql("known_members"))
            return tally(con, "weighings", codes)

        found, checks_s = _timed(check)

        def total() -> float:
            # Held as a table, as the other sides hold theirs.
            con.execute(
                "create temp table totals as "
                "select member_no, sum(net_kg) as kg from live_weighings group by member_no"
            )
            return float(rows(con, "select sum(kg) from totals")[0][0])

        kg, totals_s = _timed(total)
    return Shared(
        read_s=read_s,
        checks_s=checks_s,
        totals_s=totals_s,
        peak_mib=peak_mib(),
        found=found,
        kg=kg,
    )


def with_pandas(folder: Path) -> Shared:
    """Read, check and total with pandas."""
    from pipeline.bench import analyst

    return _read_by_pandas(folder, lambda rows, _members, _settings: analyst.check(rows))


def with_expectations(folder: Path) -> Shared:
    """Read and total with pandas, check with great-expectations; its import is not counted."""
    from pipeline.bench import expectations

    return _read_by_pandas(folder, expectations.check)


def _read_by_pandas(folder: Path, check: Callable[[Any, Any, Settings], dict[str, int]]) -> Shared:
    from pipeline.bench import analyst

    settings = read_settings((folder / "book.toml").read_text("utf-8"))
    season, read_s = _timed(lambda: analyst.read_season(folder))
    members = season.frames["members"]["member_no"]
    found, checks_s = _timed(
        lambda: check(analyst.with_facts(season, settings, SEASON), members, settings)
    )
    kg, totals_s = _timed(lambda: float(analyst.totals(season).sum()))
    return Shared(
        read_s=read_s,
        checks_s=checks_s,
        totals_s=totals_s,
        peak_mib=peak_mib(),
        found=found,
        kg=kg,
    )
