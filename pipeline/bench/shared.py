"""The work that a capable analyst does with pandas, done by each side: read, check, total.

Each side runs in a process of its own and finds the same rows; great-expectations reads and totals
with pandas, and only checks by itself.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from checks.engine import tally
from pipeline.bench.peak import peak_mib
from pipeline.bench.season import AT, SEASON
from pipeline.book.book import new_book, writing
from pipeline.samples.sheets import by_week
from pipeline.season.refresh import apply_lines
from pipeline.season.schema import create_tables
from pipeline.season.tables import connect, rows
from pipeline.season.written_settings import write_settings
from pipeline.settings import Settings, read_settings
from pipeline.take import keep_by_day

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
    file = scratch / "shared.duckdb"
    with writing(book), connect(str(file), read_only=False, macros=True) as con:

        def read() -> None:
            kept = keep_by_day(book, days, by="bench", at=AT)
            con.execute("begin transaction")
            create_tables(con)
            write_settings(con, kept.settings, SEASON)
            apply_lines(con, book, kept.journal, kept.settings, SEASON, 0, kept.reader)
            con.execute("commit")

        _, read_s = _timed(read)
        found, checks_s = _timed(lambda: tally(con, "weighings", codes))
        per_member = "select member_no, sum(net_kg) from live_weighings group by member_no"
        kg, totals_s = _timed(lambda: sum(kg or 0 for _, kg in rows(con, per_member)))
    return Shared(
        read_s=read_s,
        checks_s=checks_s,
        totals_s=totals_s,
        peak_mib=peak_mib(),
        found=found,
        kg=float(kg),
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
