"""Takes the sheets that were dropped into a book's inbox, and answers beside them.

A file leaves the inbox only once its bytes are kept and its journal line is written. What has to be
corrected comes back beside it as `<name>.to-correct.xlsx`, what has to be said as
`<name>.answer.txt`. A correction sheet that somebody mended and saved is taken like any other.
"""

import hashlib
import json
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from watchfiles import watch

from pipeline.book.book import Book, alone_in, now, write_whole
from pipeline.corrections import write_corrections
from pipeline.errors import WeighbookError
from pipeline.season.kept_sheets import standing_sheets
from pipeline.take import take
from pipeline.taken import Taken

TO_CORRECT, ANSWER = ".to-correct.xlsx", ".answer.txt"
# The desk keeps what is uploaded there, by a way of its own.
OF_THE_DESK = "desk"
# A file that did not grow for so long is whole; copying over a network pauses, but not that long.
STILL_S = 4.0
# The folder is looked at this often even where nothing was noticed, as on a network drive.
LOOK_MS = 30_000
# Beginnings and ends of names that programs give to what is not finished, or open just now.
UNFINISHED = ("~$", ".", "~")
UNFINISHED_ENDS = (".part", ".tmp", ".crdownload", ".partial", ".filepart")
BY = "inbox"
# As long as a large backlog may be read.
WAIT_S = 600
BUSY = (
    "The inbox has been read by another command for ten minutes. Wait for it to end and try again."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FromInbox:
    """What came of a look into the inbox: sheets taken, and answers written beside them."""

    taken: list[Taken] = field(default_factory=list[Taken])
    answers: list[Path] = field(default_factory=list[Path])


def lying(book: Book, *, still_s: float = STILL_S) -> list[Path]:
    """Return the files in the inbox that are whole and wait to be taken, by name."""
    inbox = book.path / "inbox"
    own = _own_answers(book)
    found: list[Path] = []
    for path in sorted(_files(inbox)):
        if path.name.startswith(UNFINISHED) or path.name.endswith((*UNFINISHED_ENDS, ANSWER)):
            continue
        # Spreadsheet programs put a file beside the one they have open.
        if any((path.parent / f"{mark}{path.name}{end}").exists() for mark, end in _OPEN_MARKS):
            continue
        with suppress(FileNotFoundError):
            seen = path.stat()
            fresh = 0 <= time.time() - max(seen.st_mtime, seen.st_ctime) < still_s
            if not fresh and not (own.get(name := _name(book, path)) and own[name] == _hash(path)):
                found.append(path)
    return found


_OPEN_MARKS = (("~$", ""), (".~lock.", "#"))


def _files(inbox: Path) -> Iterator[Path]:
    for path in inbox.iterdir():
        if path.is_dir() and path.name != OF_THE_DESK and not path.name.startswith("."):
            yield from (inner for inner in path.rglob("*") if inner.is_file())
        elif path.is_file():
            yield path


def take_inbox(book: Book, *, still_s: float = STILL_S, at: str = "") -> FromInbox:
    """Take all that lies whole in the inbox, in one go, and answer what has to be corrected.

    A crash at any point leaves each file in the inbox, in the book, or in both: then the next look
    finds the same bytes taken, and only moves it.
    """
    # Two looks at once would each forget what the other notes of its answers.
    with alone_in(book.path / "inbox", WAIT_S, BUSY):
        return _take_what_lies(book, still_s, at)


def _take_what_lies(book: Book, still_s: float, at: str) -> FromInbox:
    paths = lying(book, still_s=still_s)
    if not paths:
        return FromInbox()
    hashes = {path: _hash(path) for path in paths}
    done = take(book, paths, by=BY, at=at)
    write_corrections(book)
    answers: list[Path] = []
    for path, sha256 in hashes.items():
        about = [one for one in done if one.sheet == path.name or _inside(one.sheet, path.name)]
        answers += _answer(book, path, sha256, about)
        # It may have been saved again meanwhile: then it is another sheet, and waits.
        if book.sheet_path(sha256).exists() and _hash(path) == sha256:
            path.unlink(missing_ok=True)
    _clear(book, {path.parent for path in paths})
    return FromInbox(taken=done, answers=answers)


def _inside(sheet: str, file: str) -> bool:
    return sheet.startswith(f"{file} / ")


def _answer(book: Book, path: Path, sha256: str, about: list[Taken]) -> list[Path]:
    """Write beside a file what its clerk has to do; nothing where there is nothing to do."""
    stem = path.name.removesuffix(TO_CORRECT)
    written: list[Path] = []
    for old in (path.with_name(stem + TO_CORRECT), path.with_name(stem + ANSWER)):
        if old != path:
            old.unlink(missing_ok=True)
    numbers = [
        sheet.sheet_no
        for sheet in standing_sheets(book.journal())
        if sheet.entry["sha256"] == sha256
    ]
    for place, number in enumerate(numbers):
        for made in (book.path / "corrections").glob(f"{number:04d}_*.xlsx"):
            more = f".{place + 1}" if len(numbers) > 1 else ""
            target = path.with_name(f"{stem}{more}{TO_CORRECT}")
            content = made.read_bytes()
            _note_own(book, _name(book, target), hashlib.sha256(content).hexdigest())
            write_whole(target, content, alone=True)
            written.append(target)
    said = [line for one in about for line in _said(one, to_correct=bool(written))]
    if said:
        target = path.with_name(stem + ANSWER)
        write_whole(target, ("\n".join(said) + "\n").encode(), alone=True)
        written.append(target)
    return written


def _said(one: Taken, *, to_correct: bool) -> Iterator[str]:
    if one.status == "known" and not one.sent_back and one.kind:
        return
    if one.message:
        yield f"{one.sheet}: {one.message}"
    if one.question:
        yield f"Question: {one.question}"
        yield from (f"    {answer}" for answer in one.answers)
        yield "Answer it at the desk, or with: weighbook take --as ... --station ... --week ..."
    if one.sent_back and to_correct:
        yield (
            f"{one.sheet}: {one.sent_back} of {one.arrived} rows cannot be counted as they stand. "
            f"Mend them in the file that ends in {TO_CORRECT}, and save it here."
        )


def _name(book: Book, path: Path) -> str:
    return path.relative_to(book.path / "inbox").as_posix()


def _own_answers(book: Book) -> dict[str, str]:
    path = book.path / "inbox" / ".answers.json"
    if not path.exists():
        return {}
    with suppress(ValueError):
        return dict(json.loads(path.read_text("utf-8")))
    return {}


def _note_own(book: Book, name: str, sha256: str) -> None:
    """Remember an answer's bytes before it is written, so that it is never taken for a sheet."""
    path = book.path / "inbox" / ".answers.json"
    known = _own_answers(book) | {name: sha256}
    write_whole(path, json.dumps(known, indent=0).encode(), alone=True)


def _clear(book: Book, folders: set[Path]) -> None:
    """Take away folders that were dropped and are empty now."""
    inbox = book.path / "inbox"
    for folder in sorted(folders, key=lambda one: -len(one.parts)):
        while folder != inbox and inbox in folder.parents and not any(folder.iterdir()):
            folder.rmdir()
            folder = folder.parent


def _hash(path: Path) -> str:
    with suppress(OSError), path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
    return ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """The last look into the inbox: when, sheets taken, and what stood in the way, or ""."""

    at: str
    sheets: int
    trouble: str


class InboxWatcher:
    """A thread that takes what is dropped, as soon as it is whole; trouble ends no thread."""

    def __init__(self, book: Book, *, told: Callable[[Looked], None] = lambda _: None) -> None:
        self.book = book
        self._told = told
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True, name="inbox")

    def __enter__(self) -> "InboxWatcher":
        """Start looking."""
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        """End after what is being taken now."""
        self._stop.set()
        self._thread.join(60)

    def _run(self) -> None:
        while not self._stop.is_set():
            self._look()
            with suppress(OSError):
                changes = watch(
                    self.book.path / "inbox",
                    stop_event=self._stop,
                    rust_timeout=LOOK_MS,
                    yield_on_timeout=True,
                    raise_interrupt=False,
                    ignore_permission_denied=True,
                )
                for _ in changes:
                    # What has just been dropped is not still yet.
                    self._stop.wait(STILL_S)
                    if self._stop.is_set():
                        return
                    self._look()
            self._stop.wait(5)

    def _look(self) -> None:
        trouble, sheets = "", 0
        try:
            sheets = len(take_inbox(self.book).taken)
        except WeighbookError as error:
            trouble = str(error)
        except OSError as error:
            trouble = f"The disk refused: {error.strerror or error}. Look at room and rights."
        except Exception as error:
            trouble = f"A fault of the program: {error!r:.200}. The files are safe in the inbox."
        with suppress(OSError):
            self._told(Looked(at=now(), sheets=sheets, trouble=trouble))
