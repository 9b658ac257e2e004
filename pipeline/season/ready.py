"""The copy of a large season file that stands ready for the next one to begin with."""

import logging
import os
import shutil
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path

from pipeline.book.book import Book, sync_folder
from pipeline.season.generations import clear_away, current_path, ready_path, sync

# A smaller file is copied sooner than anybody notices.
READY_FROM_BYTES = 32 * 2**20
# What is compared at once of two files.
BLOCK_BYTES = 2**20

logger = logging.getLogger(__name__)


def make_ready(book: Book, season: str) -> None:
    """Clear away and copy the current file, where it is large, for one who holds the files.

    Who works the season out next need then neither copy it nor wait until it is on the disk. Where
    there is no room for a copy, that one makes it as well as may be.
    """
    clear_away(book, season)
    current = current_path(book, season)
    if current is not None and not ready_path(current).exists():
        with Ready(book, season) as ready:
            ready.follow(current)
            ready.name(current)


class Ready:
    """A copy that is made while a season is worked out, of the file that is current until then.

    Most of a large file is the same in the next: what is not is brought over once that is written.
    """

    def __init__(self, book: Book, season: str) -> None:
        self._book, self._season = book, season
        self._part = book.seasons / f".part-{season}.duckdb"
        self._beside = ThreadPoolExecutor(max_workers=1)
        self._copied: Future[bool] | None = None

    def __enter__(self) -> "Ready":
        return self

    def __exit__(self, *_: object) -> None:
        self._beside.shutdown()
        self._part.unlink(missing_ok=True)

    def begin(self) -> None:
        """Begin with what is current, where it is large."""
        current = current_path(self._book, self._season)
        if current is not None and _large(current):
            self._beside.submit(_copied, current, self._part)

    def follow(self, path: Path) -> None:
        """Make the copy as a later file is, where that is large, while something else is done."""
        if _large(path):
            self._copied = self._beside.submit(_copied, path, self._part)

    def name(self, path: Path) -> None:
        """Clear files of before away, and name the copy of the current one once it is whole."""
        clear_away(self._book, self._season)
        if self._copied and self._copied.result():
            os.replace(self._part, ready_path(path))
            sync_folder(self._book.seasons)


def _large(path: Path) -> bool:
    return path.stat().st_size >= READY_FROM_BYTES


def _copied(current: Path, part: Path) -> bool:
    """Make a file on the disk a copy of another; tell whether there was room."""
    try:
        if part.exists():
            _bring_over(current, part)
        else:
            shutil.copyfile(current, part)
        sync(part)
    except OSError as error:
        part.unlink(missing_ok=True)
        logger.info("no copy of %s stands ready: %s", current.name, error)
        return False
    return True


def _bring_over(current: Path, part: Path) -> None:
    """Write to a copy of an earlier file what is another in the later one."""
    with current.open("rb", buffering=0) as new, part.open("rb+", buffering=0) as old:
        while block := new.read(BLOCK_BYTES):
            if old.read(len(block)) != block:
                old.seek(new.tell() - len(block))
                old.write(block)
        old.truncate(new.tell())
