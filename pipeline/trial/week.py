"""A week of the service by a clock that runs a hundred times as fast: does anything grow?

The real `weighbook up` is started on a small book, with all its processes; sheets are dropped into
the inbox each day, and every chore comes when its time has come by that clock. Memory and open
files of each process are looked at every half hour of it.
"""

import json
import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import linear_regression, median
from typing import Any

from pipeline.book.book import Book, new_book
from pipeline.book.clock import VARIABLE, Clock
from pipeline.errors import ServiceError
from pipeline.season.kept_sheets import kept_sheets
from pipeline.service.chores import CHORES
from pipeline.service.measure import Held, held
from pipeline.service.notes import read_note
from pipeline.service.supervise import READY
from pipeline.take import take
from pipeline.trial.crash_sheets import registers, settings, week_sheet
from pipeline.verify import verify

# A Friday before a month's turn: nights, a week's summary and a month's report all come.
BEGIN = datetime(2026, 5, 29, tzinfo=UTC)
EVERY = timedelta(minutes=30)
# So long before a day's end, as a share of it, a sheet is dropped.
DROPS = (0.6, 0.3)
PATIENCE_S = 180.0
PROGRAM = (sys.executable, "-c", "from pipeline.cli import main; main()")
DAY = timedelta(days=1)
SUPERVISOR, RUNS = "supervisor", "runs"


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """One day by the fast clock: the middle of what each part held, and what was done by its end.

    `runs`: processes that carry out a chore and end with it; for these the most that was seen.
    """

    day: int
    memory_mib: dict[str, float]
    files: dict[str, float]
    cpu_s: dict[str, float]
    sheets: int
    chores: dict[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """What a trial came to: its days; by how much each part grew a day, and after the first."""

    days: list[Day]
    rate: float
    dropped: int
    taken: int
    restarts: dict[str, int]
    mib_a_day: dict[str, float]
    files_a_day: dict[str, float]
    memory_mib: float
    wrong: list[str]
    verify_ok: bool


def measure_week(days: int, rate: float, progress: Callable[[Day], None] = lambda _: None) -> Week:
    """Run the service of a small book for so many days of a clock that is `rate` times as fast."""
    with tempfile.TemporaryDirectory(prefix="weighbook-week-") as folder:
        top = Path(folder)
        book = _begun(top)
        log = top / "up.log"
        clock = Clock(BEGIN, datetime.now(UTC), rate)
        with log.open("wb") as said:
            process = subprocess.Popen(
                [
                    sys.executable,
                    "-c",
                    "from pipeline.cli import main; main()",
                    "up",
                    str(book.path),
                ],
                stdout=said,
                stderr=subprocess.STDOUT,
                env=os.environ | {VARIABLE: clock.text},
            )
        try:
            _wait_ready(book, process, log)
            found = _Watched(top, book, process, clock).days(days, progress)
            restarts = {name: part["restarts"] for name, part in _parts(book).items()}
        finally:
            process.send_signal(signal.SIGTERM)
            process.wait(120)
        taken = sum(1 for sheet in kept_sheets(book.journal()) if _ours(sheet.entry["name"]))
        notes = [read_note(book, f"done/{name}") for name in CHORES]
        return Week(
            days=found,
            rate=rate,
            dropped=days * len(DROPS),
            taken=taken,
            restarts=restarts,
            mib_a_day=_slopes([day.memory_mib for day in found]),
            files_a_day=_slopes([day.files for day in found]),
            memory_mib=round(sum(n for part, n in found[-1].memory_mib.items() if part != RUNS), 1),
            wrong=[line for note in notes for line in note.get("wrong", [])],
            verify_ok=bool(verify(book, rebuild=False)["ok"]),
        )


def _begun(top: Path) -> Book:
    book = new_book(top / "book", settings(), "2026-03-30T06:00:00Z")
    take(book, registers(top), by="clerk", at="2026-03-30T07:00:00Z")
    desk, prefect = (_free_port() for _ in range(2))
    (book.path / "service.toml").write_text(
        f'[service]\ntimezone = "Etc/UTC"\nbackup = [{json.dumps(str(top / "backup"))}]\n'
        f"desk_port = {desk}\nprefect_port = {prefect}\n",
        "utf-8",
    )
    return book


def _free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


def _parts(book: Book) -> dict[str, dict[str, Any]]:
    return dict(read_note(book, "up").get("children", {}))


def _wait_ready(book: Book, process: "subprocess.Popen[bytes]", log: Path) -> None:
    end = time.monotonic() + PATIENCE_S
    while not (parts := _parts(book)) or any(one["state"] != READY for one in parts.values()):
        if process.poll() is not None or time.monotonic() > end:
            raise ServiceError(f"The service was not ready: {log.read_text('utf-8')[-500:]}")
        time.sleep(0.2)


def _ours(name: str) -> bool:
    return name.startswith("weighings_")


class _Watched:
    """A running service, looked at day by day."""

    def __init__(
        self, top: Path, book: Book, process: "subprocess.Popen[bytes]", clock: Clock
    ) -> None:
        self._top, self._book, self._process, self._clock = top, book, process, clock
        self._turn = 0
        self._seen: dict[str, set[str]] = {name: set() for name in CHORES}

    def days(self, count: int, progress: Callable[[Day], None]) -> list[Day]:
        """Go through so many days, each from the clock's present to a day later."""
        found: list[Day] = []
        begun = self._clock.at(datetime.now(UTC))
        for day in range(1, count + 1):
            found.append(self._day(day, begun + day * DAY))
            progress(found[-1])
        return found

    def _day(self, number: int, until: datetime) -> Day:
        looks: list[dict[str, Held]] = []
        drops = [until - DAY * share for share in DROPS]
        while (at := self._clock.at(datetime.now(UTC))) < until:
            if self._process.poll() is not None:
                raise ServiceError(f"The service ended by itself on day {number}.")
            while drops and at >= drops[0]:
                drops.pop(0)
                self._drop()
            looks.append(self._look())
            time.sleep(self._clock.real_span(EVERY).total_seconds())
        held_by = {part: [look[part] for look in looks if part in look] for part in looks[-1]}
        middle: dict[str, Callable[[list[float]], float]] = {RUNS: max}
        sheets = sum(_ours(one.entry["name"]) for one in kept_sheets(self._book.journal()))
        return Day(
            day=number,
            memory_mib={
                part: round(middle.get(part, median)([one.memory_mib for one in some]), 1)
                for part, some in held_by.items()
            },
            files={
                part: middle.get(part, median)([float(one.files) for one in some])
                for part, some in held_by.items()
            },
            cpu_s={part: round(some[-1].cpu_s, 1) for part, some in held_by.items()},
            sheets=sheets,
            chores={name: len(times) for name, times in self._seen.items()},
        )

    def _drop(self) -> None:
        name = f"weighings_{self._turn:03d}.csv"
        made = week_sheet(self._top, name, self._turn)
        os.replace(made, self._book.path / "inbox" / name)
        self._turn += 1

    def _look(self) -> dict[str, Held]:
        for name, times in self._seen.items():
            if at := read_note(self._book, f"done/{name}").get("at", ""):
                times.add(at)
        parts = _parts(self._book)
        look = {SUPERVISOR: held(self._process.pid, alone=True)}
        look |= {name: held(part["pid"], alone=name == "schedules") for name, part in parts.items()}
        whole = held(parts["schedules"]["pid"])
        mine = look["schedules"]
        look[RUNS] = Held(
            memory_mib=whole.memory_mib - mine.memory_mib,
            files=whole.files - mine.files,
            processes=whole.processes - mine.processes,
            cpu_s=0.0,
        )
        return look


def _slopes(days: list[dict[str, float]]) -> dict[str, float]:
    """Return by how much each part grew a day by least squares; the first day only warms up."""
    later = days[1:]
    if len(later) < 2:
        return {}
    return {
        part: round(linear_regression(range(len(later)), [day[part] for day in later]).slope, 2)
        for part in later[0]
        if part != RUNS
    }
