"""Does the work behind the pages, one piece at a time: sheets are taken, decisions worked in.

What was sent lies whole in the inbox before anybody is told so: after a crash, the next start
takes it.
"""

import contextlib
import json
import os
import queue
import secrets
import shutil
import threading
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path, PurePosixPath, PureWindowsPath
from time import monotonic
from typing import Any

from pipeline.book.book import Book, kept_settings, now, working_out, write_whole
from pipeline.corrections import write_corrections
from pipeline.desk.desk import Desk
from pipeline.errors import SheetNameError, WeighbookError
from pipeline.explain.sheets import SheetReader
from pipeline.intake.speaks import Answer
from pipeline.intake.told import problem_said
from pipeline.season.ready import make_ready
from pipeline.take import take
from pipeline.upkeep import bring_up_to_date

WAITING, WORKING, DONE, FAILED = "waiting", "being read", "done", "not done"
# The rows are read and safe; what the season makes of them is being worked out.
READ = "read, being worked in"
# What failed is tried again after so long, then after twice as long each time, seconds.
RETRY_S, RETRY_MOST_S = 30.0, 3600.0
AGAIN = "It is tried again by itself, and at the next start."
# Of every idle second, so much goes into reading sheets beforehand.
WARM_S = 0.3
# How often the book is looked at for what other commands wrote, seconds.
LOOK_S = 1.0
# What compares rows in a large season is worked out when nobody has decided for so long, seconds.
QUIET_S = 10.0


@dataclass(slots=True, kw_only=True)
class Job:
    """Sheets that came in together: who sent them, and what became of each.

    `stations`: those whose sheets this person may send; none for all.
    """

    id: str
    by: str
    at: str
    names: list[str]
    answer: dict[str, Any] = field(default_factory=dict[str, Any])
    stations: Sequence[str] = ()
    state: str = WAITING
    trouble: str = ""
    results: list[dict[str, Any]] = field(default_factory=list[dict[str, Any]])
    read: list[dict[str, Any]] = field(default_factory=list[dict[str, Any]])

    @property
    def over(self) -> bool:
        """Tell whether nothing more happens."""
        return self.state in (DONE, FAILED)


def _read(job: Job, entries: list[dict[str, Any]]) -> None:
    """Note of each sheet what reading it gave, before the season is worked out with it."""
    job.read = [
        {
            "sheet": f"{entry['name']}",
            "kind": entry["kind"],
            "station": entry["station"],
            "week": entry["week"],
            "arrived": entry["arrived"],
            "message": problem_said(entry["problem"], None, entry.get("language", "en")),
        }
        for entry in entries
    ]
    job.state = READ


def plain_name(name: str) -> str:
    """Return a file's name; SheetNameError where it has a path in it, or is none."""
    if name != PurePosixPath(name).name or name != PureWindowsPath(name).name:
        raise SheetNameError(f"The name {name[:80]!r} has a folder in it. Send the file alone.")
    if not name.strip(". ") or len(name.encode()) > 200 or not name.isprintable():
        raise SheetNameError(
            "A file has no usable name. Give it one, such as the week, and send it."
        )
    return name


class Work:
    """One thread that works, in the order in which things came in."""

    def __init__(self, desk: Desk, sheets: SheetReader) -> None:
        self.desk = desk
        self._sheets = sheets
        self._warm_to: dict[Path, int] = {}
        self._readied: set[Path] = set()
        self.book: Book = desk.book
        self._inbox = self.book.path / "inbox" / "desk"
        self._told = self.book.path / "desk" / "sent"
        for folder in (self._inbox, self._told):
            folder.mkdir(parents=True, exist_ok=True)
        self._jobs: dict[str, Job] = {}
        # What failed: when it is tried again, and how long to wait after that.
        self._again: dict[str, tuple[float, float]] = {}
        self._queue: queue.Queue[Job | None] = queue.Queue()
        self._stop = threading.Event()
        self._apply = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True, name="work")

    def start(self) -> None:
        """Start working, first on what an earlier run left."""
        for folder in sorted(self._inbox.iterdir()):
            note = folder / "job.json"
            if note.exists():
                self._put(Job(**json.loads(note.read_text("utf-8"))))
            elif folder.is_dir():
                # It was never acknowledged: whoever sent it was told nothing and sends it again.
                shutil.rmtree(folder, ignore_errors=True)
        self._thread.start()

    def stop(self) -> None:
        """End after what is being done now."""
        self._stop.set()
        self._queue.put(None)
        if self._thread.is_alive():
            self._thread.join(60)

    def send(
        self,
        files: Sequence[tuple[str, bytes]],
        *,
        by: str,
        answer: dict[str, Any] | None = None,
        stations: Sequence[str] = (),
    ) -> Job:
        """Keep files in the inbox and have them taken; on return they are safe."""
        names = [plain_name(name) for name, _ in files]
        if not files:
            raise SheetNameError("No file was chosen. Choose one or more, then send.")
        job = Job(
            id=f"{now().replace(':', '')}-{secrets.token_hex(4)}",
            by=by,
            at=now(),
            names=names,
            answer=answer or {},
            stations=tuple(stations),
        )
        folder = self._inbox / job.id
        folder.mkdir()
        for place, (name, (_, content)) in enumerate(zip(names, files, strict=True)):
            (folder / str(place)).mkdir()
            write_whole(folder / str(place) / name, content)
        # The note is written last: without it the files were never acknowledged.
        write_whole(folder / "job.json", json.dumps(asdict(job)).encode())
        self._put(job)
        return job

    def job(self, number: str) -> Job | None:
        """Return what was sent under a number."""
        if number not in self._jobs and number == os.path.basename(number):
            path = self._told / f"{number}.json"
            if number and path.is_file():
                return Job(**json.loads(path.read_text("utf-8")))
        return self._jobs.get(number)

    def failed(self) -> list[Job]:
        """Return what was sent and is not taken yet for a fault, the latest first."""
        return [self._jobs[number] for number in reversed(list(self._again))]

    def apply(self) -> None:
        """Have the decisions of the journal worked in, soon."""
        self._apply.set()
        self._queue.put(None)

    def settle(self, *, whole: bool = True) -> None:
        """Work in what the journal holds, now; the journal can be written to meanwhile.

        Not `whole`: states and money at once, and in a large season the rest at a quiet moment.
        """
        self._apply.clear()
        journal = self.book.journal()
        bring_up_to_date(self.book, journal, kept_settings(journal), at_once=not whole)
        self.desk.look()
        write_corrections(self.book)

    def _put(self, job: Job) -> None:
        self._jobs[job.id] = job
        self._queue.put(job)

    def _run(self) -> None:
        # Correction sheets are made anew at the start, also for what was taken by command.
        self.apply()
        while not self._stop.is_set():
            try:
                job = self._queue.get(timeout=LOOK_S)
            except queue.Empty:
                job = None
            with contextlib.suppress(WeighbookError, OSError):
                if job is not None:
                    self._take(job)
                elif self._apply.is_set():
                    self.settle(whole=False)
                elif not self.desk.look().whole and self.desk.quiet_s() > QUIET_S:
                    # Left so by a decision here, or by a command.
                    self.settle()
                elif not self._retry() and not self._made_ready() and not self._put_in_order():
                    self._warm()

    def _retry(self) -> bool:
        """Try again what failed some time ago; whether there was anything to try."""
        since = monotonic()
        for number, (due, wait_s) in self._again.items():
            if due <= since:
                self._take(self._jobs[number])
                if number in self._again:
                    self._again[number] = (monotonic() + wait_s, min(wait_s * 2, RETRY_MOST_S))
                return True
        return False

    def _made_ready(self) -> bool:
        """Copy season files beforehand for the next decision; whether there was any to look at."""
        found = {one.path: season for season, one in self.desk.sight().generations.items()}
        fresh = found.keys() - self._readied
        for path in fresh:
            with working_out(self.book):
                make_ready(self.book, found[path])
        self._readied = set(found)
        return bool(fresh)

    def _put_in_order(self) -> bool:
        """Put weighings in the order of pages, where the file will not soon be another's."""
        found = [one for one in self.desk.sight().generations.values() if not one.in_order]
        for one in found:
            one.put_in_order()
        return bool(found)

    def _warm(self) -> None:
        """Read sheets before anybody looks at them, the latest first, a little at a time."""
        until = monotonic() + WARM_S
        for one in self.desk.sight().generations.values():
            numbers = sorted(one.sheets, reverse=True)
            at = self._warm_to.get(one.path, 0)
            while at < len(numbers) and monotonic() < until and not self._sheets.full:
                sheet = one.sheets[numbers[at]]
                if sheet["kind"]:
                    self._sheets.cells(sheet["sha256"], sheet["part"], one.settings)
                at += 1
            self._warm_to = {**self._warm_to, one.path: at}

    def _take(self, job: Job) -> None:
        job.state = WORKING
        folder = self._inbox / job.id
        paths = [folder / str(place) / name for place, name in enumerate(job.names)]
        try:
            done = take(
                self.book,
                paths,
                by=job.by,
                answer=Answer(**job.answer),
                stations=job.stations,
                noted=lambda entries: _read(job, entries),
            )
            job.results = [asdict(one) for one in done]
            write_corrections(self.book)
            self.desk.look()
            job.state, job.trouble = DONE, ""
        except WeighbookError as error:
            job.trouble, job.state = f"{error} {AGAIN}", FAILED
            self._again.setdefault(job.id, (monotonic() + RETRY_S, RETRY_S * 2))
            return
        except Exception:
            job.trouble = f"This is a fault of the program. The files are safe. {AGAIN}"
            job.state = FAILED
            self._again.setdefault(job.id, (monotonic() + RETRY_S, RETRY_S * 2))
            return
        self._again.pop(job.id, None)
        write_whole(self._told / f"{job.id}.json", json.dumps(asdict(job), default=str).encode())
        shutil.rmtree(folder, ignore_errors=True)
