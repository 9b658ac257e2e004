"""Kills the program at random moments of its work, and compares with the same work left in peace.

A worker takes sheets, decides, issues and backs up, and says when each is acknowledged. It is
killed (SIGKILL: no handler, no farewell) and started again on the piece of work that was not
acknowledged.
What a pulled plug takes from the disk's own cache is not tried here: that is what fsync is for.
"""

import multiprocessing
import os
import random
import shutil
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from pipeline.backup.backup import back_up, snapshots
from pipeline.backup.place import Place
from pipeline.backup.restore import restore
from pipeline.book.book import Book, new_book
from pipeline.book.decisions import judged
from pipeline.book.keys import book_keys
from pipeline.decide import decide
from pipeline.issue import issue
from pipeline.queue import season_flags
from pipeline.season.generations import must_have
from pipeline.season.kept_sheets import kept_sheets
from pipeline.season.tables import connect, rows
from pipeline.take import take
from pipeline.trial.crash_sheets import SEASON, registers, settings, week_sheet
from pipeline.verify import COMPARED, verify
from reports.manifest import read_manifest

KINDS = ("take", "decide", "issue", "backup")
# The same piece of work is killed no more often than this, then left to end.
MOST_A_PIECE = 3
PATIENCE_S = 300.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Crashes:
    """What a trial came to. `lost`, `doubled` and `differing` name each fault; all empty is right.

    `kills`: how often the worker was killed in each kind of work.
    """

    kills: int
    kills_in: dict[str, int]
    pieces: int
    sheets: int
    decisions: int
    issues: int
    backups: int
    verify_ok: bool
    lost: tuple[str, ...]
    doubled: tuple[str, ...]
    differing: tuple[str, ...]
    seconds: float


def measure_crashes(
    kills: int, seed: int, progress: Callable[[int], None] = lambda _: None
) -> Crashes:
    """Kill the worker so many times, then compare its book with one that was left in peace."""
    begun = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="weighbook-crash-") as folder:
        top = Path(folder)
        killed, calm = top / "killed", top / "calm"
        killed.mkdir()
        made = new_book(killed / "book", settings(), "2026-03-30T06:00:00Z")
        take(made, registers(top), by="clerk", at="2026-03-30T07:00:00Z")
        # Made before there are two: books with a key each sign the same statement differently.
        book_keys(made)
        shutil.copytree(killed, calm)
        worker = _Worker(killed, random.Random(seed))
        worker.run(kills, progress)
        for piece in range(worker.piece):
            work(calm, piece)
        return _compare(killed, calm, worker, time.monotonic() - begun)


def work(folder: Path, piece: int) -> None:
    """Do one piece of work; done again, it changes nothing."""
    book = Book(folder / "book")
    turn, kind = divmod(piece, len(KINDS))
    at = f"2026-07-{1 + turn // 24:02d}T{turn % 24:02d}:00:00Z"
    name = f"weighings_{turn:03d}.csv"
    match KINDS[kind]:
        case "take":
            take(book, [week_sheet(folder, name, turn)], by="clerk", at=at)
        case "decide":
            (flag,) = [
                flag.flag
                for _, flag in season_flags(book)
                if flag.sheet == name and flag.rule == "net-not-gross-less-tare"
            ]
            decide(book, flag, "count", because="the scale was read again", by="manager", at=at)
        case "issue":
            issue(book, SEASON, by="manager", at=at)
        case _:
            back_up(book, str(folder / "backup"), at=at)


def _serve(folder: Path, first: int, told: Connection) -> None:
    piece = first
    while True:
        told.send(("begun", piece))
        work(folder, piece)
        told.send(("done", piece))
        piece += 1


class _Worker:
    """The worker that is killed, from the side of who kills it."""

    def __init__(self, folder: Path, chance: random.Random) -> None:
        self.folder = folder
        self.piece = 0
        self.kills_in: dict[str, int] = dict.fromkeys(KINDS, 0)
        self.lost: list[str] = []
        self._chance = chance
        # A server that has loaded everything: a worker starts in a moment, on a clean copy of it.
        there = "forkserver" if os.name == "posix" else "spawn"
        self._make: Any = multiprocessing.get_context(there)
        if there == "forkserver":
            self._make.set_forkserver_preload([__name__])
        # How long each kind takes, as last seen: a moment within it is drawn.
        self._takes = dict.fromkeys(KINDS, 2.0)

    def run(self, kills: int, progress: Callable[[int], None]) -> None:
        """Kill until it was done so often, then let the round end."""
        spent = 0
        while (so_far := sum(self.kills_in.values())) < kills or self.piece % len(KINDS):
            mine, theirs = self._make.Pipe(duplex=False)
            process = self._make.Process(
                target=_serve, args=(self.folder, self.piece, theirs), daemon=True
            )
            process.start()
            theirs.close()
            before = self.piece
            if self._until_killed(process, mine, spare=so_far >= kills or spent >= MOST_A_PIECE):
                spent = spent + 1 if self.piece == before else 1
                progress(sum(self.kills_in.values()))
            else:
                spent = 0
            process.kill()
            process.join()
            mine.close()
            self._look()

    def _until_killed(self, process: Any, told: Connection, *, spare: bool) -> bool:
        """Follow a worker until it is killed in its work, or for one piece where it is spared."""
        while True:
            if not told.poll(PATIENCE_S):
                raise TimeoutError(f"piece {self.piece} did not end")
            told.recv()
            kind = KINDS[self.piece % len(KINDS)]
            begun = time.monotonic()
            wait = PATIENCE_S if spare else self._chance.uniform(0, self._takes[kind])
            if not told.poll(wait):
                process.kill()
                process.join()
                # It may have ended its work in the very moment: then it was acknowledged.
                if self._heard(told):
                    self.piece += 1
                else:
                    self.kills_in[kind] += 1
                return True
            told.recv()
            self._takes[kind] = time.monotonic() - begun
            self.piece += 1
            if spare:
                return False

    @staticmethod
    def _heard(told: Connection) -> bool:
        try:
            return told.poll(0) and told.recv()[0] == "done"
        except EOFError:
            return False

    def _look(self) -> None:
        """Hold what was acknowledged against the book as the killed worker left it."""
        acknowledged = range(self.piece)
        book = Book(self.folder / "book")
        journal = book.journal()
        taken = {sheet.entry["name"] for sheet in kept_sheets(journal)}
        decided = sum(line.what == "decided" for line in journal.lines)
        backups = len(snapshots(Place(str(self.folder / "backup"))))
        done = [KINDS[piece % len(KINDS)] for piece in acknowledged]
        for turn in range(done.count("take")):
            if f"weighings_{turn:03d}.csv" not in taken:
                self.lost.append(f"sheet {turn}, acknowledged before piece {self.piece}")
        if decided < done.count("decide"):
            self.lost.append(f"a decision, acknowledged before piece {self.piece}")
        if backups < done.count("backup"):
            self.lost.append(f"a backup, acknowledged before piece {self.piece}")


def _compare(killed: Path, calm: Path, worker: _Worker, seconds: float) -> Crashes:
    one, other = Book(killed / "book"), Book(calm / "book")
    journal = one.journal()
    sheets = [sheet.entry["sha256"] for sheet in kept_sheets(journal)]
    flags = [one["flag"] for line in journal.lines for one in judged(line)]
    doubled = [f"sheet {found[:12]}" for found in sorted(set(sheets)) if sheets.count(found) > 1]
    doubled += [f"decision on {found}" for found in sorted(set(flags)) if flags.count(found) > 1]
    differing = _tables_differ(one, other)
    if journal.path.read_bytes() != other.journal().path.read_bytes():
        differing.append("the journal")
    last = [line.body["folder"] for line in other.journal().lines if line.what == "issued"]
    if last:
        files = [read_manifest(book.issued / last[-1]).files for book in (one, other)]
        names = sorted(files[0].keys() | files[1].keys())
        differing += [name for name in names if files[0].get(name) != files[1].get(name)]
    left = sorted(path.relative_to(one.path).as_posix() for path in one.path.rglob(".part-*"))
    differing += [f"left by a killed writer: {name}" for name in left]
    back = restore(str(killed / "backup"), killed / "back")
    differing += [f"restored, {what}" for what in _tables_differ(Book(back.book), other)]
    done = [KINDS[piece % len(KINDS)] for piece in range(worker.piece)]
    return Crashes(
        kills=sum(worker.kills_in.values()),
        kills_in=worker.kills_in,
        pieces=worker.piece,
        sheets=done.count("take"),
        decisions=done.count("decide"),
        issues=done.count("issue"),
        backups=done.count("backup"),
        verify_ok=bool(verify(one)["ok"]),
        lost=tuple(dict.fromkeys(worker.lost)),
        doubled=tuple(doubled),
        differing=tuple(differing),
        seconds=round(seconds, 1),
    )


def _tables_differ(one: Book, other: Book) -> list[str]:
    with connect(str(must_have(one, SEASON))) as con:
        con.execute(f"attach '{must_have(other, SEASON)}' as calm (read_only)")
        return [
            f"table {table}"
            for table in (*COMPARED, "rows_weighings")
            if rows(
                con,
                f"select 1 from ((from {table} except all from calm.{table}) union all "
                f"(from calm.{table} except all from {table})) limit 1",
            )
        ]
