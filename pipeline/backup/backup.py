"""Backs a book up: every file in pieces that are named by their content, and a list of them.

What is there already is not written again, so a backup costs what is new. A place holds one book
and every snapshot of it. The order makes it consistent while work goes on, with no lock: first what
waits in the inbox, then the journal, then what the journal names, written before its line.
"""

import json
import os
import sqlite3
import zlib
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from pipeline.backup.place import Place
from pipeline.backup.seal import Seal
from pipeline.book.book import Book, now
from pipeline.book.journal import Journal
from pipeline.errors import BackupError
from pipeline.season.kept_sheets import kept_sheets

HEAD = "weighbook-backup.json"
FORMAT = 1
PIECE = 1 << 20
OBJECTS, SNAPSHOTS = "objects", "snapshots"
# A mailbox's password, the key that signs statements: they leave the machine sealed or not at all.
SECRETS = ("service.toml", "keys/sign.pem", "keys/public.pem")


@dataclass(frozen=True, slots=True, kw_only=True)
class BackedUp:
    """A backup: its snapshot's name, the journal's number, files and bytes, and what was new."""

    snapshot: str
    journal_n: int
    files: int
    bytes: int
    new_objects: int
    new_bytes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot:
    """A snapshot as read back: when, the journal's head, and the pieces of every file."""

    name: str
    at: str
    journal_n: int
    journal_hash: str
    files: dict[str, dict[str, Any]]


def back_up(book: Book, where: str, *, key: str = "", at: str = "") -> BackedUp:
    """Back a book up to a place and read back what was written; BackupError where that fails.

    DamageError where the book itself is damaged: a copy of that would help nobody.
    """
    at = at or now()
    place = Place(where)
    if place.local and book.path.resolve() in [
        Path(where).expanduser().resolve(),
        *Path(where).expanduser().resolve().parents,
    ]:
        raise BackupError(f"{where} lies inside the book. Name a place on another disk.")
    work = _BackingUp(book, place, key)
    inbox = dict(work.add(_waiting(book)))
    journal = book.journal()
    files = inbox | dict(work.add(_named_by(book, journal, sealed=bool(key))))
    work.check()
    content = {
        "at": at,
        "journal_n": journal.head[0],
        "journal_hash": journal.head[1],
        "files": files,
    }
    name = _free_name(place, f"{at.replace(':', '')}-{journal.head[0]:08d}")
    raw = work.seal.close(zlib.compress(json.dumps(content).encode(), 6), name)
    place.write(f"{SNAPSHOTS}/{name}", raw)
    if read_snapshot(place, work.seal, name).files != files:
        raise BackupError(f"{where} gave back another list than was written. Try another disk.")
    return BackedUp(
        snapshot=name,
        journal_n=journal.head[0],
        files=len(files),
        bytes=sum(one["size"] for one in files.values()),
        new_objects=len(work.new),
        new_bytes=work.new_bytes,
    )


def _free_name(place: Place, name: str) -> str:
    turn = 1
    free = name
    while place.has(f"{SNAPSHOTS}/{free}"):
        turn += 1
        free = f"{name}-{turn}"
    return free


def opened(place: Place, key: str, *, book_id: str = "") -> Seal:
    """Return the seal of a place; where a book is named and nothing is there, make it ready."""
    if place.has(HEAD):
        head = json.loads(place.read(HEAD))
        if head.get("format", 0) > FORMAT:
            raise BackupError(f"{place.where} was written by a newer Weighbook. Use that one.")
        if book_id and head["book"] != book_id:
            raise BackupError(
                f"{place.where} holds the backup of another book. Name another place."
            )
        if head["sealed"] and not key:
            raise BackupError(
                f"{place.where} is sealed. Give its passphrase: --key-file, or in the environment "
                "as WEIGHBOOK_BACKUP_KEY."
            )
        if key and not head["sealed"]:
            raise BackupError(f"{place.where} is not sealed. Name another place for a sealed one.")
        seal = Seal(key, bytes.fromhex(head["salt"]))
        try:
            seal.open(bytes.fromhex(head["proof"]), "proof")
        except BackupError:
            raise BackupError(
                f"The passphrase is not the one that {place.where} was sealed with."
            ) from None
        return seal
    if not book_id:
        raise BackupError(f"There is no backup in {place.where}. Look at the name.")
    return _new_place(place, key, book_id)


def _new_place(place: Place, key: str, book_id: str) -> Seal:
    salt = os.urandom(16) if key else b""
    seal = Seal(key, salt)
    head = {
        "format": FORMAT,
        "book": book_id,
        "sealed": seal.sealed,
        "salt": salt.hex(),
        "proof": seal.close(b"opened", "proof").hex(),
    }
    place.write(HEAD, json.dumps(head, indent=1).encode())
    return seal


def snapshots(place: Place) -> list[str]:
    """Return the names of all snapshots, the oldest first."""
    return sorted(place.sizes(SNAPSHOTS))


def read_snapshot(place: Place, seal: Seal, name: str) -> Snapshot:
    """Read a snapshot's list; BackupError where it was changed or the key is another."""
    try:
        raw = zlib.decompress(seal.open(place.read(f"{SNAPSHOTS}/{name}"), name))
        return Snapshot(name=name, **json.loads(raw))
    except (zlib.error, ValueError, TypeError):
        raise BackupError(
            f"The snapshot {name} is damaged. Take an older one: --snapshot NAME."
        ) from None


def read_object(place: Place, seal: Seal, name: str) -> bytes:
    """Return a piece, proven to be what it is named by."""
    try:
        content = zlib.decompress(seal.open(place.read(_path(name)), name))
    except zlib.error:
        content = b""
    if seal.name(content) != name:
        raise BackupError(
            f"The piece {name[:12]} in {place.where} is damaged. Take another snapshot or place."
        )
    return content


def _path(name: str) -> str:
    return f"{OBJECTS}/{name[:2]}/{name}"


class _BackingUp:
    """One backup as it is made: what the place holds, what the last snapshot knew, what is new."""

    def __init__(self, book: Book, place: Place, key: str) -> None:
        self.place = place
        first = book.journal().lines[0].hash
        self.seal = opened(place, key, book_id=first)
        self.held = {path.rpartition("/")[2]: n for path, n in place.sizes(OBJECTS).items()}
        self.new: set[str] = set()
        self.new_bytes = 0
        self.before = self._last()

    def _last(self) -> dict[str, dict[str, Any]]:
        for name in reversed(snapshots(self.place)):
            try:
                return read_snapshot(self.place, self.seal, name).files
            except BackupError:
                continue
        return {}

    def add(self, files: Iterator["_File"]) -> Iterator[tuple[str, dict[str, Any]]]:
        """Write what is new of some files; yield each with the list of its pieces."""
        for file in files:
            known = self.before.get(file.name)
            same = known and file.stamp and known["stamp"] == file.stamp
            if known and same and all(name in self.held for name in known["objects"]):
                yield file.name, known
                continue
            size, names = 0, list[str]()
            for piece in file.pieces():
                names.append(self._keep(piece))
                size += len(piece)
            yield file.name, {"size": size, "stamp": file.stamp, "objects": names}

    def _keep(self, piece: bytes) -> str:
        name = self.seal.name(piece)
        if name not in self.held:
            sealed = self.seal.close(zlib.compress(piece, 3), name)
            self.place.write(_path(name), sealed)
            self.held[name] = len(sealed)
            self.new.add(name)
            self.new_bytes += len(sealed)
        return name

    def check(self) -> None:
        """Read back every piece that is new."""
        for name in sorted(self.new):
            read_object(self.place, self.seal, name)


@dataclass(frozen=True, slots=True)
class _File:
    """A file of the book: its name in it; a stamp that changes with it, "" for always read anew."""

    name: str
    read: Callable[[], bytes]
    stamp: str = ""

    def pieces(self) -> Iterator[bytes]:
        """Yield its bytes, a piece at a time; a file that only grows keeps its first pieces."""
        content = self.read()
        for start in range(0, len(content), PIECE):
            yield content[start : start + PIECE]


def _waiting(book: Book) -> Iterator[_File]:
    """Yield what lies in the inbox; what is gone when it is read is in the journal by then."""
    for path in sorted((book.path / "inbox").rglob("*")):
        if path.is_file() and not path.name.startswith((".part-", ".answers")):
            try:
                content = path.read_bytes()
            except FileNotFoundError:
                continue
            yield _File(path.relative_to(book.path).as_posix(), partial(bytes, content))


def _named_by(book: Book, journal: Journal, *, sealed: bool) -> Iterator[_File]:
    """Yield the journal and all that belongs to it; season files follow from these."""
    path = journal.path
    lines = path.read_bytes().split(b"\n")[: journal.head[0]]
    yield _File(path.name, lambda: b"\n".join(lines) + b"\n")
    for sha256 in sorted({sheet.entry["sha256"] for sheet in kept_sheets(journal)}):
        yield _File(f"sheets/{sha256}", partial(book.sheet, sha256), stamp=sha256)
    for folder in sorted({x.body["folder"] for x in journal.lines if x.what == "issued"}):
        for file in sorted((book.issued / folder).rglob("*")):
            if file.is_file():
                yield _stamped(book, file)
    for name in ("book.toml", *(SECRETS if sealed else ())):
        if (book.path / name).is_file():
            yield _File(name, (book.path / name).read_bytes)
    yield from _of_the_desk(book)


def _stamped(book: Book, path: Path) -> _File:
    seen = path.stat()
    name = path.relative_to(book.path).as_posix()
    return _File(name, path.read_bytes, stamp=f"{seen.st_size}-{seen.st_mtime_ns}")


def _of_the_desk(book: Book) -> Iterator[_File]:
    """Yield the desk's own files: accounts as SQLite gives them in one moment, and the rest."""
    for path in sorted((book.path / "desk").rglob("*")):
        if not path.is_file() or path.name.startswith(".part-"):
            continue
        name = path.relative_to(book.path).as_posix()
        if path.suffix == ".sqlite":
            with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as con:
                yield _File(name, con.serialize)
        elif ".sqlite-" not in path.name:
            yield _File(name, path.read_bytes)
