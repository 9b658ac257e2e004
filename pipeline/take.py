"""Takes sheets into a book: keep the bytes, write the journal line, bring the seasons up to it."""

import mmap
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from pipeline.arrive import (
    Arrival,
    in_place_of,
    keep_true_claims,
    make_entries,
    read_arrivals,
)
from pipeline.book.book import Book, keep_sheet, note_settings, now, sync_folder, writing
from pipeline.book.journal import Journal, append
from pipeline.intake.kept import Reader
from pipeline.intake.read import LARGE
from pipeline.intake.speaks import Answer
from pipeline.intake.together import AT_ONCE, BYTES_AT_ONCE
from pipeline.season.generations import current_path
from pipeline.season.kept_sheets import KeptSheet, kept_sheets
from pipeline.season.tables import connect, rows
from pipeline.settings import Settings
from pipeline.taken import Taken, absent, language_for, not_yours, results
from pipeline.upkeep import bring_up_to_date, seasons_with_sheets

# Told of the sheets that a journal line took: its entry of each.
Noted = Callable[[list[dict[str, Any]]], None]


def take(
    book: Book,
    paths: Sequence[Path],
    *,
    by: str,
    day: date | None = None,
    answer: Answer | None = None,
    progress: Callable[[int], None] | None = None,
    noted: Noted | None = None,
    stations: Sequence[str] = (),
    at: str = "",
) -> list[Taken]:
    """Take any number of sheets in one go and return what became of each, in the order given.

    `day`: the civil day on which they came in, today where none is given. The sheets are safe when
    the journal line is written; what follows can always be worked out again. `answer`: what is said
    about these sheets where they are doubtful; a sheet that was kept unread is then read. `noted`
    is called once the journal line is written, with what it says of each new sheet; `progress`
    after every run of files, with how many were read. `stations`: those whose sheets may come in,
    all where none is named; a sheet of another is refused, and not kept.
    """
    at = at or now()
    day = day or date.fromisoformat(at[:10])
    return take_by_day(
        book,
        [(day, paths)],
        by=by,
        answer=answer,
        progress=progress,
        noted=noted,
        stations=stations,
        at=at,
    )


def take_by_day(
    book: Book,
    days: Sequence[tuple[date, Sequence[Path]]],
    *,
    by: str,
    answer: Answer | None = None,
    progress: Callable[[int], None] | None = None,
    noted: Noted | None = None,
    told: Callable[[str], None] | None = None,
    stations: Sequence[str] = (),
    at: str = "",
) -> list[Taken]:
    """Take the sheets of many days, a journal line each; the seasons are worked out at the end.

    Otherwise as `take`. A season's backlog costs little more than one day of it so. `told` is
    called before each part of the work with its name.
    """
    at = at or now()
    with writing(book):
        if told:
            told("keep and read")
        kept = keep_by_day(
            book,
            days,
            by=by,
            answer=answer,
            progress=progress,
            noted=noted,
            stations=stations,
            at=at,
        )
    # The sheets are safe: others may write to the journal while the season is worked out.
    bring_up_to_date(book, kept.journal, kept.settings, reader=kept.reader, told=told)
    every = [path for _, paths in days for path in paths]
    return results(book, kept.journal, kept.settings, every, kept.files, kept.new)


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
) -> Kept:
    """Keep the sheets of many days and write a journal line each, under the book's lock."""
    journal, settings = note_settings(book, book.journal(), at)
    reader = Reader(settings.intake)
    files: list[Taken | str] = []
    new: set[tuple[str, str]] = set()
    for day, paths in days:
        # What is read goes with its day: the memory is needed for what follows.
        work = _Taking(book, settings, answer or Answer(), kept_sheets(journal), reader)
        for some in _batches(paths):
            files += work.read(some)
            if progress:
                progress(len(some))
        journal, entries, strange = _noted(work, journal, day, by, at, stations)
        files = [strange.get(file, file) if isinstance(file, str) else file for file in files]
        new |= {(entry["sha256"], entry["part"]) for entry in entries}
        if noted:
            noted(entries)
        del work
    return Kept(journal, settings, reader, files, new)


def _noted(
    work: "_Taking", journal: Journal, day: date, by: str, at: str, stations: Sequence[str]
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
        bring_up_to_date(book, journal, settings)
        keep_true_claims(entries, rows_sent_back(book, journal, settings))
    if entries:
        body = {"sheets": entries, "day": day.isoformat(), "by": by}
        journal = append(journal, "taken", body, at)
    return journal, entries, strange


class _Taking:
    """What one `take` gathers: the files it read, and those it had before."""

    def __init__(
        self,
        book: Book,
        settings: Settings,
        answer: Answer,
        kept: Sequence[KeptSheet],
        reader: Reader,
    ) -> None:
        self.book = book
        self.settings = settings
        self.answer = answer
        self.reader = reader
        self.arrivals: dict[str, list[Arrival]] = {}
        self.kept = kept
        self.before: dict[str, list[KeptSheet]] = {}
        for sheet in kept:
            self.before.setdefault(sheet.entry["sha256"], []).append(sheet)

    def keep(self, paths: Sequence[Path]) -> list[tuple[bytes, str] | None]:
        """Write some files to the book, side by side: most of the time is waiting for the disk."""

        def one(path: Path) -> tuple[bytes, str] | None:
            content = _content(path)
            return None if content is None else (content, keep_sheet(self.book, content))

        with ThreadPoolExecutor(max_workers=8) as pool:
            kept = list(pool.map(one, paths))
        sync_folder(self.book.sheets)
        return kept

    def read(self, paths: Sequence[Path]) -> list[Taken | str]:
        """Keep and read some files; return the hash of each, or what is wrong with its name."""
        found: list[Taken | str] = []
        new: list[tuple[str, str, bytes]] = []
        for path, kept in zip(paths, self.keep(paths), strict=True):
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


def _batches(paths: Sequence[Path]) -> Iterator[list[Path]]:
    """Yield the files in runs that are read together: many small ones, or few large ones."""
    some: list[Path] = []
    size = 0
    for path in paths:
        some.append(path)
        size += path.stat().st_size if path.is_file() else 0
        if len(some) >= AT_ONCE or size >= BYTES_AT_ONCE:
            yield some
            some, size = [], 0
    if some:
        yield some


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
