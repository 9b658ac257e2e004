"""Keeps sheets: their bytes and a journal line; what was read goes on to the season file."""

import mmap
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from pipeline.ahead import Ahead
from pipeline.arrive import (
    Arrival,
    in_place_of,
    keep_true_claims,
    make_entries,
    read_arrivals,
)
from pipeline.book.book import Book, keep_sheets, note_settings
from pipeline.book.journal import Journal, append
from pipeline.intake.kept import Reader
from pipeline.intake.read import LARGE
from pipeline.intake.speaks import Answer
from pipeline.intake.together import AT_ONCE, BYTES_AT_ONCE
from pipeline.season.generations import current_path
from pipeline.season.kept_sheets import KeptSheet, kept_sheets, seasons_with_sheets
from pipeline.season.tables import connect, rows
from pipeline.settings import Settings
from pipeline.taken import Taken, absent, language_for, not_yours
from pipeline.upkeep import bring_up_to_date

# Of a day with more bytes, what was read would wait for all of it to be read, and be read again.
PART_BYTES = 1 << 24
# Told of the sheets that a journal line took: its entry of each.
Noted = Callable[[list[dict[str, Any]]], None]
# A file's bytes and their SHA-256; None where there is no such file.
OnDisk = tuple[bytes, str] | None


@dataclass(frozen=True, slots=True)
class Kept:
    """Sheets that are safe in the book: the journal that names them, and what was read of them.

    `files`: the hash of each file, or what is wrong with its name; `new`: hash and part of each
    sheet that was not there before; `reader`: holds the cells for the working out.
    """

    journal: Journal
    settings: Settings
    reader: Reader
    files: list[Taken | str]
    new: set[tuple[str, str]]


def keep_by_day(
    book: Book,
    days: Sequence[tuple[date, Sequence[Path]]],
    *,
    by: str,
    answer: Answer | None = None,
    progress: Callable[[int], None] | None = None,
    noted: Noted | None = None,
    stations: Sequence[str] = (),
    at: str,
    ahead: Ahead | None = None,
) -> Kept:
    """Keep the sheets of many days and write a journal line each, under the book's lock.

    A day of very many rows has a line for each part of it. `ahead`: brings the sheets of a line
    into the season files while those of the next one are read.
    """
    journal, settings = note_settings(book, book.journal(), at)
    reader = Reader(settings.intake)
    files: list[Taken | str] = []
    new: set[tuple[str, str]] = set()
    kept: Sequence[KeptSheet] = ()
    before: dict[str, list[KeptSheet]] = {}
    parts = [(day, part) for day, paths in days for part in _parts(paths)]
    if ahead and parts[1:]:
        ahead.begin(journal, season_of_day(settings, parts[0][0]))
    on_disk = _kept_ahead(book, [run for _, part in parts for run in part])
    for day, part in parts:
        if ahead:
            ahead.put(journal, reader)
        # What is read goes with its line: the memory is needed for what follows.
        known, kept = len(kept), kept_sheets(journal)
        for sheet in kept[known:]:
            before.setdefault(sheet.entry["sha256"], []).append(sheet)
        work = _Taking(book, settings, answer or Answer(), kept, before, reader)
        for run in part:
            files += work.read(run, next(on_disk))
            if progress:
                progress(len(run))
        journal, entries, strange = _noted(work, journal, day, by, at, stations, ahead)
        files = [strange.get(file, file) if isinstance(file, str) else file for file in files]
        new |= {(entry["sha256"], entry["part"]) for entry in entries}
        if noted:
            noted(entries)
        del work
    return Kept(journal, settings, reader, files, new)


def _noted(
    work: "_Taking",
    journal: Journal,
    day: date,
    by: str,
    at: str,
    stations: Sequence[str],
    ahead: Ahead | None,
) -> tuple[Journal, list[dict[str, Any]], dict[str, Taken]]:
    """Write the journal line of what is new; return the journal and the line's entries.

    With it come, by their hash, the files of stations whose sheets this person may not send.
    """
    book, settings = work.book, work.settings
    entries = work.entries(season_of_day(settings, day))
    strange: dict[str, Taken] = {}
    for entry in entries:
        if stations and entry["station"] and entry["station"] not in stations:
            strange[entry["sha256"]] = not_yours(entry, stations, language_for(settings, by))
    entries = [entry for entry in entries if entry["sha256"] not in strange]
    for entry in entries:
        if entry["problem"]:
            # Nothing in the sheet says in which language to answer: whoever sent it may.
            entry.setdefault("language", language_for(settings, by))
    for sha256 in strange.keys() - work.before.keys():
        book.sheet_path(sha256).unlink(missing_ok=True)
    if any("fills" in entry for entry in entries):
        bring_up_to_date(book, journal, settings, ahead=ahead)
        keep_true_claims(entries, rows_sent_back(book, journal, settings))
    if entries:
        body = {"sheets": entries, "day": day.isoformat(), "by": by}
        journal = append(journal, "taken", body, at)
    return journal, entries, strange


class _Taking:
    """What one line gathers: the files it read, beside all sheets the book had before."""

    def __init__(
        self,
        book: Book,
        settings: Settings,
        answer: Answer,
        kept: Sequence[KeptSheet],
        before: Mapping[str, Sequence[KeptSheet]],
        reader: Reader,
    ) -> None:
        self.book = book
        self.settings = settings
        self.answer = answer
        self.reader = reader
        self.arrivals: dict[str, list[Arrival]] = {}
        self.kept = kept
        self.before = before

    def read(self, paths: Sequence[Path], on_disk: Sequence[OnDisk]) -> list[Taken | str]:
        """Read some files that were kept; return the hash of each, or what is wrong with it."""
        found: list[Taken | str] = []
        new: list[tuple[str, str, bytes]] = []
        for path, kept in zip(paths, on_disk, strict=True):
            if kept is None:
                found.append(absent(path))
                continue
            content, sha256 = kept
            found.append(sha256)
            before = self.before.get(sha256, [])
            # A sheet that was kept unread may be readable now: by an answer, a higher limit.
            known = bool(before) and all(sheet.entry["kind"] for sheet in before)
            if sha256 not in self.arrivals and not known:
                self.arrivals[sha256] = []
                new.append((path.name, sha256, content))
        for arrival in read_arrivals(new, self.settings, self.answer, self.reader, self.kept):
            self.arrivals[arrival.sha256].append(arrival)
        return found

    def entries(self, season: str) -> list[dict[str, Any]]:
        """Return the journal entries of all that is new."""
        arrivals = [arrival for of_file in self.arrivals.values() for arrival in of_file]
        by_file: dict[str, list[dict[str, Any]]] = {sha256: [] for sha256 in self.arrivals}
        for entry in make_entries(arrivals, self.settings, season, self.kept):
            by_file[entry["sha256"]].append(entry)
        return [
            entry
            for sha256, entries in by_file.items()
            for entry in in_place_of(entries, self.before.get(sha256, []))
        ]


def _keep_files(book: Book, paths: Sequence[Path]) -> list[OnDisk]:
    """Write the bytes of some files to the book."""
    contents = [_content(path) for path in paths]
    hashes = iter(keep_sheets(book, [content for content in contents if content is not None]))
    return [None if content is None else (content, next(hashes)) for content in contents]


def _kept_ahead(book: Book, runs: Sequence[Sequence[Path]]) -> Iterator[list[OnDisk]]:
    """Yield each run of files once it is kept; the next one is being kept meanwhile."""
    with ThreadPoolExecutor(max_workers=1) as beside:
        under_way: list[Future[list[OnDisk]]] = []
        for run in runs:
            under_way.append(beside.submit(_keep_files, book, run))
            if len(under_way) == 2:
                yield under_way.pop(0).result()
        for last in under_way:
            yield last.result()


def _parts(paths: Sequence[Path]) -> Iterator[list[list[Path]]]:
    """Yield a day's files in parts of a line each: one, unless they hold very many rows.

    Each part is in runs of files that are read together: many small ones, or few large ones.
    """
    part = [list[Path]()]
    of_part = of_run = 0
    for path in paths:
        if of_part >= PART_BYTES:
            yield part
            part, of_part, of_run = [list[Path]()], 0, 0
        if len(part[-1]) >= AT_ONCE or of_run >= BYTES_AT_ONCE:
            part.append([])
            of_run = 0
        size = path.stat().st_size if path.is_file() else 0
        part[-1].append(path)
        of_run, of_part = of_run + size, of_part + size
    yield [run for run in part if run]


def _content(path: Path) -> bytes | None:
    """Return a file's bytes; those of a large one stay on disk until they are looked at."""
    try:
        if path.stat().st_size <= LARGE:
            return path.read_bytes()
        with path.open("rb") as file:
            mapped: Any = mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
            return mapped
    except OSError:
        return None


def season_of_day(settings: Settings, day: date) -> str:
    """Return the season a day falls in, else the last one begun before it, else the first."""
    begun = [season for season in settings.seasons if season.first_day <= day]
    if not begun:
        return min(settings.seasons, key=lambda season: season.first_day).code
    return max(begun, key=lambda season: season.first_day).code


def rows_sent_back(book: Book, journal: Journal, settings: Settings) -> dict[tuple[int, int], str]:
    """Return the kind of every row that is sent back now, by the numbers of its sheet and row."""
    found: dict[tuple[int, int], str] = {}
    for code in seasons_with_sheets(journal, settings):
        path = current_path(book, code)
        if path is not None:
            with connect(str(path)) as con:
                text = "select sheet_no, row_no, kind from exceptions where state = 'sent_back'"
                found |= {(sheet_no, row_no): kind for sheet_no, row_no, kind in rows(con, text)}
    return found
