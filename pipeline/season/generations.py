"""The season files on disk: numbered generations, one of them current, swapped in whole."""

import hashlib
import os
import shutil
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from pipeline.book.book import Book, kept_settings, write_whole
from pipeline.errors import BookError

SCHEMA_NO = 2
# What DuckDB reads of a file before anything else: its own header and two of the database.
HEAD_BYTES = 3 * 4096


def current_path(book: Book, season: str) -> Path | None:
    """Return the season file to read, or None where there is none yet."""
    pointer = book.seasons / f"{season}.current"
    if not pointer.exists():
        return None
    path = book.seasons / _lines(pointer)[0]
    return path if path.exists() else None


def said_of(book: Book, season: str, path: Path) -> str:
    """Return what was said of a season file when it was published; "" where it changed since."""
    name, stamp, said = _lines(book.seasons / f"{season}.current")
    return said if (name, stamp) == (path.name, _stamp(path)) else ""


def _lines(pointer: Path) -> list[str]:
    """Return the name of the file that a pointer names, its stamp, and what was said of it."""
    return [*pointer.read_text("utf-8").splitlines(), "", "", ""][:3]


def _stamp(path: Path) -> str:
    """Return what differs where a file was written to since, or its head is damaged."""
    status = path.stat()
    with path.open("rb") as file:
        head = hashlib.sha256(file.read(HEAD_BYTES)).hexdigest()
    return f"{status.st_size} {status.st_mtime_ns} {head}"


def must_have(book: Book, season: str) -> Path:
    """Return the season file to read.

    SettingsError where there is no such season, BookError where nothing was taken for it.
    """
    path = current_path(book, season)
    if path is None:
        kept_settings(book.journal()).season(season)
        raise BookError(
            f"Nothing is worked out for season {season} yet. Take its sheets, "
            f"or run: weighbook rebuild {book.path}"
        )
    return path


def working_copy(book: Book, season: str, *, fresh: bool) -> Path:
    """Return a file to work in: a copy of the current one, or a name where none is yet."""
    clear_away(book, season)
    path = book.seasons / f".work-{season}.duckdb"
    for leftover in (path, path.with_name(path.name + ".wal")):
        leftover.unlink(missing_ok=True)
    current = current_path(book, season)
    if current is not None and not fresh:
        ready = ready_path(current)
        if ready.exists():
            os.replace(ready, path)
        else:
            shutil.copyfile(current, path)
    return path


def ready_path(current: Path) -> Path:
    """Return the name of the copy of a file that the next one begins with; it is whole."""
    return current.with_name(f".ready-{current.name}")


def sync(path: Path) -> None:
    """Wait until a file is on the disk."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def publish(
    book: Book,
    season: str,
    work: Path,
    journal_n: int,
    *,
    says: str,
    beside: Callable[[Path], object] | None = None,
) -> Path:
    """Give a finished file its number and make it the current one.

    `says`: what `said_of` gives back of it, in a line. `beside` is called with the file before it
    is brought to the disk.
    """
    number = journal_n
    path = book.seasons / f"{season}.{number:08d}.duckdb"
    # A rebuild at the same line must not write over a file that a reader has open.
    turn = 0
    while path.exists():
        turn += 1
        path = book.seasons / f"{season}.{number:08d}-{turn}.duckdb"
    # Nobody reads it before the pointer names it.
    os.replace(work, path)
    if beside:
        beside(path)
    sync(path)
    told = f"{path.name}\n{_stamp(path)}\n{says}\n"
    write_whole(book.seasons / f"{season}.current", told.encode(), alone=True)
    return path


def clear_away(book: Book, season: str) -> None:
    """Delete the files before the current one, for one who holds the season files."""
    current = current_path(book, season)
    if current is None:
        return
    kept = (current, ready_path(current))
    for pattern in (f"{season}.*.duckdb", f".ready-{season}.*.duckdb"):
        for old in book.seasons.glob(pattern):
            if old not in kept:
                # Windows refuses while a reader holds it: the next write tries again.
                with suppress(OSError):
                    old.unlink()
