"""Brings one book of a union up to date and publishes its summaries, swapped in whole.

The work on a book is the very same as on a book alone; a task that runs twice changes nothing.
"""

import hashlib
import io
import os
import tempfile
from collections.abc import Generator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path

import polars as pl

from pipeline.book.book import Book, kept_settings, working_out, write_whole, writing
from pipeline.book.journal import Journal
from pipeline.errors import BookError, WeighbookError
from pipeline.season.generations import current_path
from pipeline.season.kept_sheets import kept_sheets, seasons_with_sheets
from pipeline.season.tables import connect, season_sql
from pipeline.settings import Settings
from pipeline.storage import is_address, opened, trouble
from pipeline.upkeep import bring_up_to_date

TABLES = ("seasons", "stations", "accounts")
# Of a worker that was given up for dead, and copies a large book on.
WAIT_S = 600


@dataclass(frozen=True, slots=True, kw_only=True)
class Summarised:
    """What became of one book: its journal's number, or the sentence why it could not be read."""

    book: str
    journal_n: int = 0
    trouble: str = ""


@cache
def union_sql(name: str) -> str:
    """Return the text of one named query of this package."""
    return resources.files("pipeline.union").joinpath(f"sql/{name}.sql").read_text("utf-8")


def _of_season(table: str) -> str:
    """Return what gives one season's rows of a table; accounts are those that `verify` looks at."""
    return season_sql("account_balances") if table == "accounts" else union_sql(table)


def summarise(where: str, out: str, scratch: str = "", *, threads: int = 0) -> Summarised:
    """Bring a book up to date and write its summaries below `out`; trouble is told, not raised.

    `where`: a book's folder, which is worked in, or an address such as s3://bucket/ridge, of which
    sheets and journal are copied to `scratch` first (the machine's own folder by default).
    `threads`: how many cores its SQL may use, all where none is named.
    """
    name = where.rstrip("/").rpartition("/")[2]
    try:
        book = _copied(where, scratch) if is_address(where) else Book(Path(where))
        journal = book.journal()
        if not journal.lines:
            raise BookError(f"There is no book in {where}.")
        settings = kept_settings(journal)
        bring_up_to_date(book, journal, settings, threads=threads)
        frames = summary_frames(book, journal, settings, name)
        with working_out(book):
            for table, frame in frames.items():
                content = io.BytesIO()
                frame.write_parquet(content, compression="zstd", statistics=False)
                put(f"{out}/{table}/{name}.parquet", content.getvalue(), alone=True)
    except (WeighbookError, OSError) as error:
        return Summarised(book=name, trouble=str(error))
    return Summarised(book=name, journal_n=journal.head[0])


def summary_frames(
    book: Book, journal: Journal, settings: Settings, name: str
) -> dict[str, pl.DataFrame]:
    """Return the summaries of a book by table, over all its seasons."""
    found: dict[str, list[pl.DataFrame]] = {table: [] for table in TABLES}
    for season in seasons_with_sheets(journal, settings):
        path = current_path(book, season)
        if path is None:
            continue
        with connect(str(path), threads=1) as con:
            for table in TABLES:
                frame: pl.DataFrame = con.sql(_of_season(table)).pl()
                about = [("book", name), ("name", settings.name), ("season", season)]
                about += [("currency", settings.currency)]
                labels = [pl.lit(value).alias(column) for column, value in about]
                found[table].append(frame.select(*labels, pl.all()))
    return {table: pl.concat(frames) for table, frames in found.items() if frames}


def put(target: str, content: bytes, *, alone: bool = False) -> None:
    """Write a file or object whole, where it is not there with the same bytes already.

    `alone`: as `write_whole` has it.
    """
    if is_address(target):
        with _told(target, "written"):
            fs, path = opened(target)
            if not fs.exists(path) or bytes(fs.cat_file(path)) != content:
                fs.pipe_file(path, content)
        return
    path = Path(target)
    path.parent.mkdir(parents=True, exist_ok=True)
    if not path.exists() or path.read_bytes() != content:
        write_whole(path, content, alone=alone)


@contextmanager
def _told(where: str, what: str) -> Generator[None]:
    """Turn what storage says into a sentence: each kind has errors of its own."""
    try:
        yield
    except WeighbookError:
        raise
    except Exception as error:
        raise BookError(trouble(where, what, error)) from None


def _copied(where: str, scratch: str) -> Book:
    """Copy what is new of a book in storage to this machine: sheets first known by the journal."""
    mark = hashlib.sha256(where.encode()).hexdigest()[:16]
    top = Path(scratch or Path(tempfile.gettempdir()) / f"weighbook-union-{_user()}") / mark
    for folder in ("sheets", "seasons"):
        (top / folder).mkdir(parents=True, exist_ok=True)
    book = Book(top)
    with writing(book, WAIT_S), _told(where, "read"):
        fs, root = opened(where)
        for name in ("journal.jsonl", "book.toml"):
            write_whole(top / name, bytes(fs.cat_file(f"{root}/{name}")), alone=True)
        for sheet in kept_sheets(book.journal()):
            sha256: str = sheet.entry["sha256"]
            path = book.sheet_path(sha256)
            if not path.exists():
                write_whole(path, bytes(fs.cat_file(f"{root}/sheets/{sha256}")), alone=True)
    return book


def _user() -> str:
    return str(os.getuid()) if os.name == "posix" else os.environ.get("USERNAME", "")
