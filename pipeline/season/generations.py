"""The season files on disk: numbered generations, one of them current, swapped in whole."""

import os
import shutil
from contextlib import suppress
from pathlib import Path

from pipeline.book.book import Book, write_whole
from pipeline.errors import BookError

SCHEMA_NO = 1


def current_path(book: Book, season: str) -> Path | None:
    """Return the season file to read, or None where there is none yet."""
    pointer = book.seasons / f"{season}.current"
    if not pointer.exists():
        return None
    path = book.seasons / pointer.read_text("utf-8").strip()
    return path if path.exists() else None


def must_have(book: Book, season: str) -> Path:
    """Return the season file to read; BookError where nothing was taken for that season."""
    path = current_path(book, season)
    if path is None:
        raise BookError(
            f"Nothing is worked out for season {season} yet. Take its sheets, "
            f"or run: weighbook rebuild {book.path}"
        )
    return path


def working_copy(book: Book, season: str, *, fresh: bool) -> Path:
    """Return a file to work in: a copy of the current one, or a name where none is yet."""
    path = book.seasons / f".work-{season}.duckdb"
    for leftover in (path, path.with_name(path.name + ".wal")):
        leftover.unlink(missing_ok=True)
    current = current_path(book, season)
    if current is not None and not fresh:
        shutil.copyfile(current, path)
    return path


def publish(book: Book, season: str, work: Path, journal_n: int) -> Path:
    """Give a finished file its number and make it the current one; older ones are cleared away."""
    number = journal_n
    path = book.seasons / f"{season}.{number:08d}.duckdb"
    # A rebuild at the same line must not write over a file that a reader has open.
    turn = 0
    while path.exists():
        turn += 1
        path = book.seasons / f"{season}.{number:08d}-{turn}.duckdb"
    with work.open("rb+") as file:
        os.fsync(file.fileno())
    os.replace(work, path)
    write_whole(book.seasons / f"{season}.current", path.name.encode())
    for old in book.seasons.glob(f"{season}.*.duckdb"):
        if old != path:
            # Windows refuses while a reader holds it: the next write tries again.
            with suppress(OSError):
                old.unlink()
    return path
