"""Brings a book back from a backup, and proves that a backup gives the same statements."""

import hashlib
import os
import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from pipeline.backup.backup import Snapshot, opened, read_object, read_snapshot, snapshots
from pipeline.backup.place import Place
from pipeline.backup.seal import Seal
from pipeline.book.book import FOLDERS, Book, kept_settings, write_whole
from pipeline.book.journal import Journal
from pipeline.book.keys import book_keys
from pipeline.errors import BackupError
from pipeline.issue import issue
from pipeline.season.generations import current_path
from pipeline.season.kept_sheets import kept_sheets, seasons_with_sheets
from pipeline.season.tables import connect, rows
from pipeline.upkeep import rebuild, whole_file
from pipeline.verify import COMPARED, verify
from reports.manifest import read_manifest

PRIVATE = ("desk/", "keys/", "service.toml")


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """A book that was brought back: from which snapshot, and up to which journal line."""

    book: Path
    snapshot: str
    at: str
    journal_n: int
    files: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill:
    """What a drill found: everything that differs between the copy and the book, nothing if proven.

    `documents`: drawn anew from both, and compared byte for byte.
    """

    snapshot: str
    journal_n: int
    files: int
    tables: int
    documents: int
    differing: tuple[str, ...]


def restore(where: str, target: Path, *, key: str = "", snapshot: str = "") -> Restored:
    """Bring a book back into a folder that is not there or empty, and work its seasons out.

    The folder gets its name once all of it is there and proven; BackupError otherwise.
    """
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise BackupError(f"{target} is there already and not empty. Name another folder.")
    target.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=target.parent, prefix=".restoring-") as folder:
        beside = Path(folder) / "book"
        found = fetch(where, beside, key=key, snapshot=snapshot)
        rebuild(Book(beside))
        proof = verify(Book(beside), rebuild=False)
        if not proof["ok"]:
            faults = [fault for one in proof["promises"].values() for fault in one["faults"]]
            raise BackupError(f"The copy does not hold what it promises: {faults[0]}")
        if target.exists():
            target.rmdir()
        os.replace(beside, target)
    return Restored(
        book=target,
        snapshot=found.name,
        at=found.at,
        journal_n=found.journal_n,
        files=len(found.files),
    )


def fetch(where: str, target: Path, *, key: str, snapshot: str = "") -> Snapshot:
    """Write all files of a snapshot into a new folder, each piece proven; return the snapshot."""
    place = Place(where)
    seal = opened(place, key)
    names = snapshots(place)
    if not names:
        raise BackupError(f"There is no finished backup in {where}.")
    if snapshot and snapshot not in names:
        raise BackupError(
            f"There is no snapshot {snapshot}. The latest are: {', '.join(names[-3:])}."
        )
    found = read_snapshot(place, seal, snapshot or names[-1])
    for folder in FOLDERS:
        (target / folder).mkdir(parents=True)
    for name, file in found.files.items():
        _write(place, seal, target, name, file["objects"], int(file["size"]))
    head = Book(target).journal().head
    if head != (found.journal_n, found.journal_hash):
        raise BackupError("The copy's journal is not the one that was backed up. Take another.")
    return found


def _write(
    place: Place, seal: Seal, target: Path, name: str, objects: list[str], size: int
) -> None:
    if PurePosixPath(name).is_absolute() or ".." in PurePosixPath(name).parts:
        raise BackupError(f"The backup holds a file named {name!r}, which no backup of ours does.")
    path = target / name
    private = name.startswith(PRIVATE)
    path.parent.mkdir(mode=0o700 if private else 0o777, parents=True, exist_ok=True)
    content = b"".join(read_object(place, seal, one) for one in objects)
    if len(content) != size:
        raise BackupError(f"{name} in the backup is damaged. Take another snapshot or place.")
    write_whole(path, content)
    if private:
        path.chmod(0o600)


def drill(book: Book, where: str, *, key: str = "", snapshot: str = "") -> Drill:
    """Restore a snapshot beside the book and prove that it gives what the book gives.

    The seasons of both are worked out from sheets and journal up to the snapshot's line, all tables
    compared, and every document is drawn anew from both and compared byte for byte.
    """
    with tempfile.TemporaryDirectory(prefix="weighbook-drill-") as folder:
        copy, own = Book(Path(folder) / "copy"), Book(Path(folder) / "own")
        found = fetch(where, copy.path, key=key, snapshot=snapshot)
        _up_to(book, own, found)
        _keys_as_one(book, copy, own)
        differing = [
            f"{name}: kept otherwise in the copy" for name in _kept_otherwise(copy, own, found)
        ]
        tables = documents = 0
        for one in (copy, own):
            shutil.rmtree(one.issued)
            one.issued.mkdir()
            rebuild(one)
        journal = copy.journal()
        settings = kept_settings(journal)
        # Before the first sheet there is nothing to draw.
        seasons = seasons_with_sheets(journal, settings) if kept_sheets(journal) else ()
        for season in seasons:
            differs, compared = _tables(copy, own, season)
            differing += differs
            tables += compared
            differs, compared = _documents(copy, own, season)
            differing += differs
            documents += compared
    return Drill(
        snapshot=found.name,
        journal_n=found.journal_n,
        files=len(found.files),
        tables=tables,
        documents=documents,
        differing=tuple(differing),
    )


def _up_to(book: Book, own: Book, found: Snapshot) -> None:
    """Lay the book's own sheets and journal beside, up to the snapshot's line."""
    journal: Journal = book.journal()
    n = found.journal_n
    if len(journal.lines) < n or (n and journal.lines[n - 1].hash != found.journal_hash):
        raise BackupError(
            f"The journal of {book.path} is not the one that was backed up: restore it, or ask why."
        )
    for name in FOLDERS:
        (own.path / name).mkdir(parents=True)
    lines = journal.path.read_bytes().split(b"\n")[:n]
    (own.path / journal.path.name).write_bytes(b"\n".join(lines) + b"\n")
    # The settings as the journal has them, so that none is noted anew.
    own.settings_path.write_text(kept_settings(own.journal()).text, "utf-8")
    shutil.copytree(book.path / "sheets", own.path / "sheets", dirs_exist_ok=True)


def _keys_as_one(book: Book, copy: Book, own: Book) -> None:
    """Have both sign with the book's key; where the backup holds none, with one made for both."""
    if not (copy.path / "keys").exists():
        book_keys(copy)
        shutil.copytree(copy.path / "keys", own.path / "keys")
    elif (book.path / "keys").exists():
        shutil.copytree(book.path / "keys", own.path / "keys")


def _kept_otherwise(copy: Book, own: Book, found: Snapshot) -> list[str]:
    copy.settings_path.write_text(kept_settings(copy.journal()).text, "utf-8")
    names = [
        name
        for name in found.files
        if name.startswith("sheets/") or name in ("journal.jsonl", "keys/sign.pem")
    ]
    return [name for name in names if _sha256(copy.path / name) != _sha256(own.path / name)]


def _sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.exists() else ""


def _tables(copy: Book, own: Book, season: str) -> tuple[list[str], int]:
    if None in (current_path(copy, season), current_path(own, season)):
        return [f"season {season}: worked out from one of the two only"], 0
    # A decision of a moment ago may have left comparisons waiting.
    paths = whole_file(copy, season), whole_file(own, season)
    with connect(str(paths[0])) as con:
        con.execute(f"attach '{paths[1]}' as own (read_only)")
        differing = [
            f"season {season}, table {table}: differs"
            for table in COMPARED
            if rows(
                con,
                f"select 1 from ((from {table} except all from own.{table}) union all "
                f"(from own.{table} except all from {table})) limit 1",
            )
        ]
    return differing, len(COMPARED)


def _documents(copy: Book, own: Book, season: str) -> tuple[list[str], int]:
    """Draw all documents of a season from both, none taken from an earlier issue, and compare."""
    at = copy.journal().lines[-1].at
    files = [
        read_manifest(issue(one, season, by="drill", at=at).folder).files for one in (copy, own)
    ]
    names = sorted(files[0].keys() | files[1].keys())
    differing = [
        f"season {season}, {name}: differs"
        for name in names
        if files[0].get(name) != files[1].get(name)
    ]
    return differing, len(names)
