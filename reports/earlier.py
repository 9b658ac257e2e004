"""What need not be drawn again: the issue before, and what an interrupted run left behind."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Generator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from io import TextIOWrapper
from pathlib import Path
from typing import Any

from reports.manifest import Statement, read_manifest

# Written beside the statements while an issue is made, and gone once it is whole.
_NOTES = "drawn.jsonl"


@dataclass(frozen=True, slots=True)
class Kept:
    """A statement that is there: hashes by file, its message, whether this issue drew it."""

    hashes: dict[str, str]
    message: str
    drawn: bool


@dataclass(frozen=True, slots=True)
class Earlier:
    """The issue before: its folder, its hashes by file, its entries by member."""

    folder: Path
    files: Mapping[str, str]
    entries: Mapping[str, Statement]
    villages: Mapping[str, list[str]]

    @classmethod
    def of(cls, folder: Path | None) -> Earlier | None:
        """The issue in a folder, or None where there is none."""
        if folder is None:
            return None
        kept = read_manifest(folder)
        villages: dict[str, list[str]] = {}
        for entry in kept.statements:
            villages.setdefault(entry.village, []).append(kept.files.get(entry.pdf, ""))
        entries = {entry.member_no: entry for entry in kept.statements}
        return cls(folder, kept.files, entries, villages)

    def carry(self, entry: Statement, out_dir: Path) -> Kept | None:
        """Takes the files of an unchanged statement from here, if they are undamaged."""
        old = self.entries.get(entry.member_no)
        if old is None or old.content != entry.content or old.number != entry.number:
            return None
        names = (entry.html, entry.pdf, entry.txt)
        if not all(self._sound(name) for name in names):
            return None
        for name in names:
            self.take(name, out_dir)
        return Kept({name: self.files[name] for name in names}, old.message, False)

    def carry_print(
        self, name: str, village: str, pdfs: Sequence[str], out_dir: Path
    ) -> str | None:
        """Takes a village's print file from here if it holds these very statements; its hash."""
        if self.villages.get(village) != list(pdfs) or not self._sound(name):
            return None
        self.take(name, out_dir)
        return self.files[name]

    def _sound(self, name: str) -> bool:
        path = self.folder / name
        return name in self.files and path.is_file() and _hash(path) == self.files[name]

    def take(self, name: str, out_dir: Path) -> None:
        """Puts a file of this issue into another folder."""
        source, target = self.folder / name, out_dir / name
        if source == target:
            return
        target.parent.mkdir(parents=True, exist_ok=True)
        target.unlink(missing_ok=True)
        try:
            # Issued files never change, so that both issues may hold the same one.
            os.link(source, target)
        except OSError:
            shutil.copyfile(source, target)


@dataclass(slots=True)
class Stopped:
    """What an interrupted run had drawn in the folder, and the notes of the run that goes on."""

    folder: Path
    before: dict[str, dict[str, Any]]
    notes: TextIOWrapper

    @classmethod
    @contextmanager
    def at(cls, folder: Path) -> Generator[Stopped]:
        """Reads the notes in the folder and goes on writing them."""
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / _NOTES
        before: dict[str, dict[str, Any]] = {}
        for line in path.read_text("utf-8").splitlines() if path.exists() else []:
            try:
                note = json.loads(line)
                before[note["of"]] = note
            except (ValueError, KeyError):
                # The line during which the power went.
                continue
        with path.open("a", encoding="utf-8") as notes:
            notes.write("\n")
            yield cls(folder, before, notes)

    @staticmethod
    def forget(folder: Path) -> None:
        """Takes the notes away, since all is drawn."""
        (folder / _NOTES).unlink(missing_ok=True)

    def note(self, entry: Statement, hashes: dict[str, str], message: str) -> None:
        """Writes down that a statement is drawn."""
        told = {"of": _same(entry), "hashes": hashes, "message": message}
        self.notes.write(json.dumps(told) + "\n")
        self.notes.flush()

    def kept(self, entry: Statement) -> Kept | None:
        """The statement as it was drawn before the stop, if its files are whole."""
        note = self.before.get(_same(entry))
        if note is None:
            return None
        for name, expected in note["hashes"].items():
            path = self.folder / name
            if not path.is_file() or _hash(path) != expected:
                return None
        return Kept(note["hashes"], note["message"], True)


def _same(entry: Statement) -> str:
    return f"{entry.content} {entry.number} {entry.day} {entry.pdf}"


def _hash(path: Path) -> str:
    return sha256(path.read_bytes()).hexdigest()
