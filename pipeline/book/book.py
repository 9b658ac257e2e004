"""A book on disk: where its parts are, who may write, and how sheets are kept."""

import hashlib
import os
import shutil
import tempfile
from collections.abc import Generator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from filelock import FileLock, Timeout

from pipeline.book.clock import utc_now
from pipeline.book.journal import Journal, append, read_journal
from pipeline.errors import BookError, DamageError
from pipeline.settings import Settings, read_settings

# The format of the journal and of what it names.
FORMAT = 1
FOLDERS = ("inbox", "sheets", "seasons", "issued")


@dataclass(frozen=True, slots=True)
class Book:
    """A book's folder. Everything in it is worked out from `sheets/` and `journal.jsonl`."""

    path: Path

    @property
    def settings_path(self) -> Path:
        """Where the settings stand."""
        return self.path / "book.toml"

    @property
    def sheets(self) -> Path:
        """The folder of sheets as they arrived."""
        return self.path / "sheets"

    @property
    def seasons(self) -> Path:
        """The folder of season files."""
        return self.path / "seasons"

    @property
    def issued(self) -> Path:
        """The folder of documents as issued."""
        return self.path / "issued"

    def sheet_path(self, sha256: str) -> Path:
        """Where the sheet with this hash is kept."""
        return self.sheets / sha256

    def sheet(self, sha256: str) -> bytes:
        """Return a kept sheet; DamageError where it is gone or no longer what arrived."""
        path = self.sheet_path(sha256)
        if not path.exists():
            raise DamageError(f"The sheet {sha256[:12]} is gone from sheets/. Restore it.")
        content = path.read_bytes()
        if hashlib.sha256(content).hexdigest() != sha256:
            raise DamageError(
                f"The sheet {sha256[:12]} in sheets/ was changed after it arrived. Restore it."
            )
        return content

    def journal(self) -> Journal:
        """Read and check the journal; BookError where a newer Weighbook wrote it."""
        journal = read_journal(self.path / "journal.jsonl")
        # A version that writes what earlier ones do not know says so in a line of its own.
        formats = [x.body["format"] for x in journal.lines if x.what in ("opened", "format")]
        if max(formats, default=FORMAT) > FORMAT:
            raise BookError(
                f"This book was written by a newer Weighbook (its format is {max(formats)}, that "
                f"of this one {FORMAT}). Use the newer one; nothing was changed."
            )
        return journal


def now() -> str:
    """Return the present instant in UTC, to the second."""
    return utc_now().strftime("%Y-%m-%dT%H:%M:%SZ")


def new_book(path: Path, settings_text: str, at: str) -> Book:
    """Make an empty book in a folder that is not there or empty; BookError otherwise."""
    settings = read_settings(settings_text)
    if path.exists() and (not path.is_dir() or any(path.iterdir())):
        raise BookError(f"{path} is there already and not empty. Name another folder.")
    try:
        for folder in FOLDERS:
            (path / folder).mkdir(parents=True)
        write_whole(path / "book.toml", settings_text.encode())
    except OSError as error:
        raise BookError(f"{path} cannot be made: {error.strerror}. Name another.") from None
    book = Book(path)
    journal = append(book.journal(), "opened", {"book": settings.name, "format": FORMAT}, at)
    append(journal, "settings", {"text": settings.text, "hash": settings.hash}, at)
    return book


def open_book(path: Path) -> Book:
    """Return the book in a folder; BookError where there is none."""
    if not (path / "journal.jsonl").is_file():
        raise BookError(f"There is no book in {path}. Make one with: weighbook new {path}")
    return Book(path)


@contextmanager
def writing(book: Book, wait_s: float = 20) -> Generator[None]:
    """Hold the book for one writer; BookError where another does not let go in time."""
    busy = "Another command is writing to this book. Wait for it to end and try again."
    with alone_in(book.path, wait_s, busy):
        yield


@contextmanager
def working_out(book: Book, wait_s: float = 600) -> Generator[None]:
    """Hold the season files for one who works them out; the journal can be written to meanwhile."""
    busy = (
        "The season has been worked out by another command for ten minutes. "
        "Wait for it to end and try again."
    )
    with alone_in(book.seasons, wait_s, busy):
        yield


@contextmanager
def alone_in(folder: Path, wait_s: float, busy: str) -> Generator[None]:
    """Hold a folder's lock; BookError with `busy` where another does not let go in time."""
    try:
        with FileLock(folder / ".lock", timeout=wait_s):
            yield
    except Timeout:
        raise BookError(busy) from None
    except PermissionError:
        raise BookError(f"{folder} cannot be written to. Ask who owns the folder.") from None


def kept_settings(journal: Journal) -> Settings:
    """Return the settings that hold at the journal's head."""
    for line in reversed(journal.lines):
        if line.what == "settings":
            return read_settings(line.body["text"])
    raise DamageError("The journal holds no settings. Restore the book from a backup.")


def note_settings(book: Book, journal: Journal, at: str) -> tuple[Journal, Settings]:
    """Write book.toml to the journal where it differs from what the journal holds."""
    settings = kept_settings(journal)
    text = book.settings_path.read_text("utf-8")
    if text == settings.text:
        return journal, settings
    settings = read_settings(text)
    body = {"text": settings.text, "hash": settings.hash}
    return append(journal, "settings", body, at), settings


def keep_sheets(book: Book, contents: Sequence[bytes]) -> list[str]:
    """Write the bytes of sheets to `sheets/` under their SHA-256, which are returned.

    For who holds the book. They are on the disk then, names and all. All are written before the
    first is waited for, since each wait brings to the disk whatever the file system has not yet
    written of any of them.
    """
    hashes = [hashlib.sha256(content).hexdigest() for content in contents]
    files = dict(zip(hashes, contents, strict=True))
    with _own_place(book.sheets / ".part-sheets") as beside:
        _replace_all(
            beside,
            {
                book.sheet_path(sha256): content
                for sha256, content in files.items()
                if not book.sheet_path(sha256).exists()
            },
        )
    sync_folder(book.sheets)
    return hashes


def write_whole(path: Path, content: bytes, *, alone: bool = False) -> None:
    """Write a file so that a reader sees the old one or all of the new one, even after a crash.

    `alone`: nobody else writes this file now, as who holds a lock over it knows. What a killed
    writer left of it is then cleared away; where many may write, nobody can tell whose it is.
    """
    folder = path.parent
    with (
        _own_place(folder / f".part-{path.name}")
        if alone
        else tempfile.TemporaryDirectory(dir=folder, prefix=".part-")
    ) as beside:
        _replace_all(Path(beside), {path: content})
    sync_folder(folder)


@contextmanager
def _own_place(path: Path) -> Generator[Path]:
    """Lend an empty folder that nobody else uses; what a killed writer left in it goes first."""
    shutil.rmtree(path, ignore_errors=True)
    path.mkdir()
    try:
        yield path
    finally:
        shutil.rmtree(path, ignore_errors=True)


def _replace_all(beside: Path, files: Mapping[Path, bytes]) -> None:
    """Write files in a folder beside them, wait for the disk, and give them their names."""
    parts = {beside / f".part-{n}": path for n, path in enumerate(files)}
    with ExitStack() as opened:
        written: list[IO[bytes]] = []
        for part, path in parts.items():
            # Without a buffer: all is written in one go.
            written.append(opened.enter_context(part.open("xb", buffering=0)))
            _write(written[-1], files[path])
        for file in written:
            os.fsync(file.fileno())
    for part, path in parts.items():
        # Whatever this process makes private: a kept sheet is as readable as its book.
        part.chmod(0o644)
        part.replace(path)


def _write(file: IO[bytes], content: bytes) -> None:
    left = memoryview(content)
    while left.nbytes:
        left = left[file.write(left) :]
    if hasattr(os, "posix_fadvise"):
        # Begins to bring it to the disk: of many files, the first wait is then for all of them.
        os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)


def sync_folder(path: Path) -> None:
    """Bring the names of a folder's files to the disk, where the system has a way to."""
    if hasattr(os, "O_DIRECTORY"):
        folder = os.open(path, os.O_DIRECTORY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
