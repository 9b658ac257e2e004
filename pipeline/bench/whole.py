"""All work on one drawn season, each part timed, beside what one would otherwise reach for.

All parts run in turn within one run, each in a process of its own, so that none is helped or hurt
by what another left in memory.
"""

import shutil
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from statistics import median

import duckdb

from pipeline.bench.analyst import shared_checks
from pipeline.bench.closed import small, take_after
from pipeline.bench.deciding import Decisions, command_s, decide_twice
from pipeline.bench.faulty import plant_faults
from pipeline.bench.floor import typed_read_csv
from pipeline.bench.peak import peak_mib
from pipeline.bench.season import AT, SEASON, by_kind, cut_week, write_season
from pipeline.bench.shared import Shared, ours, with_expectations, with_pandas
from pipeline.bench.spent import in_new_process, spent
from pipeline.book.book import new_book, open_book
from pipeline.samples.sheets import by_week
from pipeline.season.generations import must_have
from pipeline.season.tables import connect, rows
from pipeline.take import take, take_by_day
from pipeline.upkeep import rebuild

WEEK_ROWS = 5_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Took:
    """A first take: seconds of the whole and of each part, MiB, bytes of the season file."""

    seconds: float
    parts: dict[str, float]
    peak_mib: float
    file_bytes: int
    rows: int
    deliveries: int


def first_take(folder: Path, book: Path) -> Took:
    """Take all sheets of a season into a new book."""
    made = new_book(book, (folder / "book.toml").read_text("utf-8"), AT)
    began = time.perf_counter()
    marks: list[tuple[str, float]] = []

    def told(part: str) -> None:
        marks.append((part, time.perf_counter()))

    take_by_day(made, by_week(folder / "season"), by="bench", at=AT, told=told)
    ended = time.perf_counter()
    parts: dict[str, float] = {}
    for (part, start), (_, stop) in zip(marks, [*marks[1:], ("", ended)], strict=True):
        parts[part] = parts.get(part, 0) + stop - start
    path = must_have(made, SEASON)
    peak = peak_mib()
    with connect(str(path)) as con:
        (arrived,), (weighed,) = (
            rows(con, text)[0]
            for text in (
                "select cast(sum(arrived) as bigint) from sheets",
                "select count(*) from rows_weighings",
            )
        )
    return Took(
        seconds=ended - began,
        parts=parts,
        peak_mib=peak,
        file_bytes=path.stat().st_size,
        rows=arrived,
        deliveries=weighed,
    )


def floor(folder: Path, scratch: Path) -> float:
    """Read all sheets into typed tables with DuckDB alone, and sum each member's kilograms."""
    path = scratch / "floor.duckdb"
    began = time.perf_counter()
    with duckdb.connect(str(path)) as con:
        con.execute("set enable_progress_bar = false")
        for kind, files in by_kind(folder).items():
            typed_read_csv(con, kind, kind, files)
        con.execute('select "Member", sum("Net kg") from weighings group by "Member"').fetchall()
    took = time.perf_counter() - began
    path.unlink()
    return took


def take_week(book: Path, sheets: list[Path], day_of: Path) -> float:
    """Take one more week's sheets into a book: checked, posted, the queue refreshed."""
    opened = open_book(book)
    day = next(day for day, paths in by_week(day_of) if paths == sheets)
    return spent(lambda: take(opened, sheets, by="bench", day=day, at=AT)).wall_s


def work_out_anew(book: Path) -> float:
    """Work the season out anew from the kept sheets and the journal."""
    opened = open_book(book)
    return spent(lambda: rebuild(opened)).wall_s


@dataclass(frozen=True, slots=True, kw_only=True)
class Whole:
    """All figures of one run; seconds by the clock."""

    members: int
    sheets: int
    first: Took
    small: Took | None
    floor_s: float
    ours: Shared
    pandas: Shared
    expectations: Shared
    week_s: float
    after_closed_s: float | None
    decision: Decisions
    why_s: float
    help_s: float
    rebuild_s: float

    def figures(self) -> dict[str, object]:
        """Return the figures by name, as the JSON file holds them."""
        mine, others = self.ours, (self.pandas, self.expectations)
        ratios = {
            f"{name}{part}_over_ours": round(theirs / own, 2)
            for name, other in zip(("pandas", "great_expectations"), others, strict=True)
            for part, theirs, own in (
                ("", other.whole_s, mine.whole_s),
                ("_checks", other.checks_s, mine.checks_s),
            )
        }
        return {
            "first_take_s": round(self.first.seconds, 2),
            "first_take_over_floor": round(self.first.seconds / self.floor_s, 2),
            **ratios,
            "pandas_over_first_take": round(self.pandas.whole_s / self.first.seconds, 2),
            "week_s": round(self.week_s, 2),
            "week_after_closed_s": self.after_closed_s and round(self.after_closed_s, 2),
            "decision_s": round(self.decision.in_desk_s, 2),
            "decision_open_s": round(self.decision.open_s, 2),
            "decision_order_s": round(self.decision.order_s, 2),
            "decision_command_s": round(self.decision.command_s, 2),
            "why_s": round(self.why_s, 2),
            "help_s": round(self.help_s, 3),
            "rebuild_over_first": round(self.rebuild_s / self.first.seconds, 2),
            "bytes_per_delivery": round(self.first.file_bytes / self.first.deliveries),
            "peak_mib": round(self.first.peak_mib),
            "growth_10x": self.small and round(self.first.seconds / self.small.seconds, 1),
            "members": self.members,
            "weighings": self.first.deliveries,
            "rows": self.first.rows,
            "sheets": self.sheets,
            "floor_s": round(self.floor_s, 2),
            "found": mine.found,
            "same_found": mine.found == self.pandas.found,
            "parts_s": {part: round(took, 2) for part, took in self.first.parts.items()},
        }


def measure_whole(
    members: int,
    deliveries: int,
    *,
    growth: bool = True,
    seasons: int = 0,
    told: Callable[[str], None],
) -> Whole:
    """Draw a season of so many members and receipts and measure all work on it.

    `growth`: also take a season of a tenth of the size. `told` is called before each part.
    """
    with tempfile.TemporaryDirectory(prefix="weighbook-bench-") as name:
        scratch = Path(name)
        folder, book = scratch / "drawn", scratch / "book"
        told(f"drawing a season of {members:,} members, {deliveries:,} receipts")
        week = in_new_process(drawn, folder, members, deliveries)
        told("first take")
        first = in_new_process(first_take, folder, book)
        told("DuckDB's own reading, the floor")
        floor_s = median(in_new_process(floor, folder, scratch) for _ in range(3))
        told("the shared work: ours")
        own = in_new_process(ours, folder, scratch / "shared", list(shared_checks()))
        shutil.rmtree(scratch / "shared")
        told("the shared work: pandas")
        pandas = in_new_process(with_pandas, folder)
        told("the shared work: great-expectations")
        expectations = in_new_process(with_expectations, folder)
        told("a week more, a decision, why")
        week_s = in_new_process(take_week, book, week, week[0].parent.parent)
        decision = in_new_process(decide_twice, book)
        why_s = command_s(["why", str(book), f"{SEASON}/{decision.member}/balance"], 3)
        help_s = command_s(["--help"], 5)
        told("working out anew")
        rebuild_s = in_new_process(work_out_anew, book)
        after_closed_s = None
        if seasons:
            told(f"a week more after {seasons} closed seasons")
            earlier, after = scratch / "earlier", scratch / "after-book"
            in_new_process(write_season, earlier, *small(members, deliveries))
            in_new_process(take_after, folder, earlier, after, seasons)
            after_closed_s = in_new_process(take_week, after, week, week[0].parent.parent)
        tenth = None
        if growth:
            told("a season of a tenth")
            in_new_process(drawn, scratch / "tenth", members // 10, deliveries // 10)
            tenth = in_new_process(first_take, scratch / "tenth", scratch / "tenth-book")
        return Whole(
            members=members,
            sheets=sum(len(paths) for _, paths in by_week(folder / "season")),
            first=first,
            small=tenth,
            floor_s=floor_s,
            ours=own,
            pandas=pandas,
            expectations=expectations,
            week_s=week_s,
            after_closed_s=after_closed_s,
            decision=decision,
            why_s=why_s,
            help_s=help_s,
            rebuild_s=rebuild_s,
        )


def drawn(folder: Path, members: int, deliveries: int) -> list[Path]:
    """Draw a season with its faults; return the sheets of one more week, which lie apart."""
    write_season(folder, members, deliveries)
    plant_faults(folder)
    return cut_week(folder, WEEK_ROWS)
