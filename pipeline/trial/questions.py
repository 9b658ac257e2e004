"""How many questions the checks put to a manager in a week, in a season of many members.

The season is honest and varies as life does (`honest.py`); on request some of its weighings have
faults. A question is a cause: a rule, the sheet's station and week, and the row's recorder.
"""

import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import polars as pl

from pipeline.bench.faulty import plant_faults
from pipeline.book.book import Book, new_book
from pipeline.intake.kinds import kinds
from pipeline.samples.draws import Draws
from pipeline.samples.people import Station, stations
from pipeline.samples.sheets import as_text, book_toml, by_week, week_sheets, write_week
from pipeline.samples.sheets import week_name as week_of
from pipeline.season.generations import must_have
from pipeline.season.tables import connect, rows
from pipeline.take import take_by_day
from pipeline.trial.honest import LATE, REGISTERS, WEEKS, honest_frames, two_recorders
from pipeline.trial.season_book import AT, SEASON, TAKEN_BY

MEMBERS_A_STATION, MOST_STATIONS = 2_500, 200


@dataclass(frozen=True, slots=True, kw_only=True)
class OfRule:
    """How many flags of one rule there are, and how many questions they come to."""

    rule: str
    severity: str
    flags: int
    questions: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Questions:
    """What a season of many members asks.

    `a_week`: questions over the weeks of the season; `most_in_a_week`: of the week with most;
    `held_share`, `noted_share`: rows with a flag that holds or sends back, and with a note only, of
    all rows.
    """

    seed: int
    members: int
    stations: int
    rows: int
    faults: int
    flags: int
    questions: int
    a_week: float
    most_in_a_week: int
    held_share: float
    noted_share: float
    rules: list[OfRule]


def measure_questions(
    people: int,
    seed: int,
    *,
    faults: bool = False,
    told: Callable[[str], None] | None = None,
) -> Questions:
    """Draw a season of so many members, send it through the real path and count what it asks.

    `faults`: one weighing in a hundred has one. `told` is called before each part with its name.
    """
    sites = places(people)
    with tempfile.TemporaryDirectory(prefix="weighbook-trial-") as name:
        folder = Path(name)
        if told:
            told(f"drawing a season of {people:,} members")
        write_season(folder, seed, people, sites)
        planted = plant_faults(folder) if faults else 0
        if told:
            told("taking its sheets")
        book = new_book(folder / "book", book_toml(sites, WEEKS, picked_before=False), AT)
        take_by_day(book, arrivals(folder, seed), by=TAKEN_BY, told=told)
        return asked(book, seed, people, len(sites), planted)


def places(people: int) -> tuple[Station, ...]:
    """Return a station for so many members each, four at least; each has two recorders."""
    count = max(4, min(MOST_STATIONS, people // MEMBERS_A_STATION))
    return tuple(two_recorders(place, n) for n, place in enumerate(stations(count)))


def write_season(folder: Path, seed: int, people: int, sites: tuple[Station, ...]) -> None:
    """Write an honest season's sheets below `folder`: a folder of registers, and one a week."""
    frames = honest_frames(seed, people, sites).frames
    season = folder / "season"
    registers = {f"{kind}.csv": as_text(kind, frames.pop(kind)) for kind in REGISTERS}
    write_week(season / "register", registers)
    for week in range(WEEKS):
        write_week(season / week_of(week), week_sheets(week, frames))


def arrivals(folder: Path, seed: int) -> list[tuple[date, list[Path]]]:
    """Return the sheets by the day they came in: most on the Monday after, some weeks later."""
    draws = Draws(seed, "trial-arrivals")
    days: dict[date, list[Path]] = {}
    for day, paths in by_week(folder / "season"):
        late = draws.hit(LATE, len(paths)) & (paths[0].parent.name != "register")
        for path, is_late, weeks in zip(
            paths, late.tolist(), draws.whole(1, 3, len(paths)).tolist(), strict=True
        ):
            days.setdefault(day + timedelta(weeks=weeks if is_late else 0), []).append(path)
    return sorted(days.items())


def asked(book: Book, seed: int, people: int, sites: int, planted: int) -> Questions:
    """Count what a book's season asks."""
    with connect(str(must_have(book, SEASON))) as con:
        total = int(rows(con, "select cast(sum(arrived) as bigint) from sheets")[0][0])
        recorders = " union all ".join(
            f"select '{kind.name}' as kind, sheet_no, row_no, recorder from rows_{kind.name} "
            f"semi join (from flags where kind = '{kind.name}') using (sheet_no, row_no)"
            for kind in kinds().values()
            if kind.has("recorder")
        )
        found = con.sql(
            "select f.rule, f.severity, f.kind, f.sheet_no, f.row_no, "
            "coalesce(s.station, '') as station, coalesce(s.week, '') as week, "
            "coalesce(r.recorder, '') as recorder from flags as f "
            "inner join sheets as s on s.sheet_no = f.sheet_no "
            f"left join ({recorders}) as r "
            "on r.kind = f.kind and r.sheet_no = f.sheet_no and r.row_no = f.row_no"
        ).pl()
    causes = found.unique(["rule", "station", "week", "recorder"])
    in_week = causes.group_by("week").len()["len"].to_list()
    place = ["kind", "sheet_no", "row_no"]
    held = found.filter(pl.col("severity") != "note").unique(place)
    noted = found.filter(pl.col("severity") == "note").unique(place)
    return Questions(
        seed=seed,
        members=people,
        stations=sites,
        rows=total,
        faults=planted,
        flags=found.height,
        questions=causes.height,
        a_week=round(causes.height / WEEKS, 2),
        most_in_a_week=max(in_week, default=0),
        held_share=round(held.height / total, 6),
        noted_share=round(noted.height / total, 6),
        rules=_by_rule(found, causes),
    )


def _by_rule(found: pl.DataFrame, causes: pl.DataFrame) -> list[OfRule]:
    flags = dict(found.group_by("rule").len().iter_rows())
    severity = dict(found.select("rule", "severity").unique("rule").iter_rows())
    counted = sorted(
        causes.group_by("rule").len().iter_rows(), key=lambda pair: (-pair[1], pair[0])
    )
    return [
        OfRule(rule=rule, severity=severity[rule], flags=flags[rule], questions=questions)
        for rule, questions in counted
    ]
