"""How long all rules take over a season, beside DuckDB's own reading of the season's sheets.

Both run in turns within one process, with as many threads as there are cores; the most memory is
that of a process of its own that only runs the rules.
"""

import os
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from statistics import median

import duckdb

from checks.engine import (
    came_in,
    find_coffee,
    find_rows,
    find_season,
    forget_coffee,
    settle_coffee,
    settle_rows,
)
from checks.rules import RULES
from pipeline.bench.floor import typed_read_csv
from pipeline.bench.peak import peak_mib
from pipeline.bench.season import SEASON, by_kind, take_season, write_season
from pipeline.bench.spent import Spent, in_new_process, middle, spent
from pipeline.coffee.events import FOLLOWED
from pipeline.season.generations import must_have
from pipeline.season.steps import fill_anew
from pipeline.season.tables import connect, rows

TURNS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class RulesTook:
    """What `weighbook bench rules` measures: medians of the turns, and of their ratios.

    `deliveries`: receipts, of `weighings` lines; `rows`: all rows of the season's sheets; `flags`:
    found; `same_flags`: as when they were taken.
    """

    members: int
    deliveries: int
    weighings: int
    rows: int
    sheets: int
    rules: int
    cores: int
    ours: Spent
    floor: Spent
    over_floor: float
    flags: int
    same_flags: bool
    peak_mib: float

    def figures(self) -> dict[str, object]:
        """Return the figures by name, as `--json` prints them: seconds, ratio, MiB."""
        return {
            "seconds": round(self.ours.wall_s, 3),
            "over_floor": round(self.over_floor, 3),
            **asdict(self),
        }


def measure_rules(
    members: int,
    deliveries: int,
    *,
    turns: int = TURNS,
    told: Callable[[str], None] | None = None,
) -> RulesTook:
    """Measure all rules over a season of so many members and deliveries (receipts).

    `told` is called before each part with what it is.
    """

    def say(part: str) -> None:
        if told:
            told(part)

    with tempfile.TemporaryDirectory(prefix="weighbook-bench-") as name:
        folder = Path(name)
        say(f"drawing a season of {members:,} members")
        write_season(folder, members, deliveries)
        say("taking its sheets")
        season = in_new_process(_taken, folder)
        say("memory")
        peak = in_new_process(_peak_of, season)
        say("rules and reading, in turns")
        return _in_turns(folder, season, (members, deliveries), turns, peak)


def _taken(folder: Path) -> Path:
    """Take the sheets into a book; return a copy of its season file."""
    copy = folder / "season.duckdb"
    shutil.copy(must_have(take_season(folder, folder / "book"), SEASON), copy)
    return copy


def run_rules(con: duckdb.DuckDBPyConnection) -> None:
    """Run every rule over a season that is worked out, from no flags at all."""
    con.execute("delete from exceptions")
    # Counts that rules read, made for them.
    for table in ("scale_days", "weight_weeks", "coffee_days", "moisture_days"):
        fill_anew(con, table)
    forget_coffee(con, all_of_it=True)
    here = came_in(con)
    for kind in here:
        find_rows(con, kind)
        settle_rows(con, kind)
        if kind == "members":
            fill_anew(con, "known_members")
    for kind in FOLLOWED:
        find_coffee(con, kind)
        settle_coffee(con, kind)
    for kind in here:
        find_season(con, kind)


def _timed(season: Path) -> tuple[Spent, bool]:
    """Run the rules on a season file, which stays as it was; tell whether they found the same."""
    text = "select rule, kind, sheet_no, row_no, col from flags order by all"
    with connect(str(season), read_only=False, macros=True) as con:
        before = rows(con, text)
        con.execute("begin transaction")
        took = spent(lambda: run_rules(con))
        same = rows(con, text) == before
        con.execute("rollback")
    return took, same


def _peak_of(season: Path) -> float:
    with connect(str(season), read_only=False, macros=True) as con:
        con.execute("begin transaction")
        run_rules(con)
        con.execute("rollback")
    return peak_mib()


def _floor(folder: Path) -> Spent:
    path = folder / "floor.duckdb"
    with duckdb.connect(str(path)) as con:
        con.execute("set enable_progress_bar = false")

        def read() -> None:
            for kind, files in by_kind(folder).items():
                typed_read_csv(con, kind, kind, files)
            con.execute("checkpoint")

        took = spent(read)
    path.unlink()
    return took


def _in_turns(
    folder: Path, season: Path, size: tuple[int, int], turns: int, peak: float
) -> RulesTook:
    ours: list[Spent] = []
    floors: list[Spent] = []
    same: list[bool] = []
    for turn in range(turns):
        for side in ("floor", "ours") if turn % 2 else ("ours", "floor"):
            if side == "floor":
                floors.append(_floor(folder))
            else:
                took, found_same = _timed(season)
                ours.append(took)
                same.append(found_same)
    with connect(str(season)) as con:
        (arrived, sheets), (weighed,), (flags,) = (
            rows(con, text)[0]
            for text in (
                "select cast(sum(arrived) as bigint), count(*) from sheets",
                "select count(*) from rows_weighings",
                "select count(*) from flags",
            )
        )
    return RulesTook(
        members=size[0],
        deliveries=size[1],
        weighings=weighed,
        rows=arrived,
        sheets=sheets,
        rules=len(RULES),
        cores=os.cpu_count() or 1,
        ours=middle(ours),
        floor=middle(floors),
        over_floor=median(
            one.wall_s / floor.wall_s for one, floor in zip(ours, floors, strict=True)
        ),
        flags=flags,
        same_flags=all(same),
        peak_mib=peak,
    )
