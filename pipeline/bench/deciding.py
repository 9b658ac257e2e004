"""How long one decision takes in a large season: within a running desk, and as a command."""

import compileall
import subprocess
import sys
import time
from dataclasses import dataclass
from functools import cache, partial
from importlib import resources
from pathlib import Path
from statistics import median

import polars as pl

from pipeline.bench.season import AT, SEASON
from pipeline.bench.spent import spent
from pipeline.book.book import kept_settings, note_settings, open_book, writing
from pipeline.decide import record
from pipeline.desk.generation import Generation
from pipeline.queue import season_flags
from pipeline.season.generations import must_have
from pipeline.season.ready import make_ready
from pipeline.season.tables import connect, rows
from pipeline.upkeep import bring_up_to_date

# What a member's page and the queue read after a decision: the row of one member.
MEMBER = "select * from member_season where member_no = ?"
# Weighings that one open flag alone holds: to count it changes the row's state.
HELD_BY_ONE = """
    select w.sheet_no, w.row_no, w.member_no
    from weighings as w
    inner join flags as f
        on f.kind = 'weighings' and f.sheet_no = w.sheet_no and f.row_no = w.row_no
        and f.severity = 'hold' and f.decision is null
    where w.state = 'held'
    group by w.sheet_no, w.row_no, w.member_no
    having count(*) = 1
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Decisions:
    """Seconds of one decision: within a running desk, and as a command; and whose row it was.

    `open_s`: how long the desk then takes to open the new file for all its pages; `order_s`: to
    make those of members quick, when nobody decides any more.
    """

    in_desk_s: float
    open_s: float
    order_s: float
    command_s: float
    member: str


def decide_twice(book: Path) -> Decisions:
    """Decide two held weighings, one as the desk does and one as a command."""
    opened = open_book(book)
    path = must_have(opened, SEASON)
    with connect(str(path)) as con:
        whose = {(sheet, row): member for sheet, row, member in rows(con, HELD_BY_ONE)}
    held = [
        (flag.flag, whose[flag.sheet_no, flag.row])
        for _, flag in season_flags(opened, only=pl.col("rule") == "net-not-gross-less-tare")
        if (flag.sheet_no, flag.row) in whose
    ]
    (one, member), (other, _) = held[:2]
    # As whoever worked the season out last left one, or the desk when it had nothing to do.
    make_ready(opened, SEASON)
    before = Generation(path, kept_settings(opened.journal()))
    began = time.perf_counter()
    # As the desk does: the decision is safe, then its states and money, then a page's look at them.
    with writing(opened):
        journal, settings = note_settings(opened, opened.journal(), AT)
        because = "the receipt says so"
        record(opened, journal, settings, [one], "count", because=because, by="bench", at=AT)
    journal = opened.journal()
    bring_up_to_date(opened, journal, settings, at_once=True)
    with connect(str(must_have(opened, SEASON))) as con:
        rows(con, MEMBER, [member])
    in_desk_s = time.perf_counter() - began
    began = time.perf_counter()
    shown = Generation(must_have(opened, SEASON), settings)
    open_s = time.perf_counter() - began
    del before
    began = time.perf_counter()
    shown.put_in_order()
    order_s = time.perf_counter() - began
    bring_up_to_date(opened, journal, settings)
    command = ["decide", str(book), other, "count", "--because", "so it is", "--by", "bench"]
    return Decisions(
        in_desk_s=in_desk_s,
        open_s=open_s,
        order_s=order_s,
        command_s=command_s(command),
        member=member,
    )


def command_s(arguments: list[str], turns: int = 1) -> float:
    """Return the median seconds of a command, from its start to its end."""
    command = [str(Path(sys.executable).with_name("weighbook")), *arguments]
    _compile()
    took: list[float] = []
    for _ in range(turns):
        run = partial(subprocess.run, command, check=True, capture_output=True)
        took.append(spent(run).wall_s)
    return median(took)


@cache
def _compile() -> None:
    """Compile the program, as installing it does; of a checkout Python may keep nothing."""
    for package in ("checks", "pipeline", "reports"):
        with resources.as_file(resources.files(package)) as folder:
            compileall.compile_dir(folder, quiet=1)
