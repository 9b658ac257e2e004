"""The journal: one line of JSON per event, each carrying the hash of the line before."""

import hashlib
import json
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pipeline.errors import DamageError

NO_LINE = "0" * 64
# The journal that this process read last: its bytes up to the last whole line, and its lines.
_last_read: dict[Path, tuple[bytes, tuple["Line", ...]]] = {}


@dataclass(frozen=True, slots=True)
class Line:
    """One line: its number from 1, the SHA-256 of its bytes, when (UTC), what, and its content."""

    n: int
    hash: str
    at: str
    what: str
    body: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Journal:
    """The lines of a journal as read, and whether an unfinished last line was found."""

    path: Path
    lines: tuple[Line, ...]
    torn_bytes: int

    @property
    def head(self) -> tuple[int, str]:
        """Number and hash of the last line; 0 and sixty-four noughts before the first."""
        return (self.lines[-1].n, self.lines[-1].hash) if self.lines else (0, NO_LINE)


def read_journal(path: Path) -> Journal:
    """Read and check a journal; DamageError names the first line that is not what was written.

    A last line without its line end was never acknowledged: it is left aside and counted.
    """
    content = path.read_bytes() if path.exists() else b""
    known, checked = _last_read.get(path, (b"", ()))
    # What begins with the very bytes that were checked before is checked from there on.
    if not content.startswith(known):
        known, checked = b"", ()
    whole, end, torn = content[len(known) :].rpartition(b"\n")
    lines = list(checked)
    before = lines[-1].hash if lines else NO_LINE
    for n, raw in enumerate(whole.split(b"\n") if end else [], start=len(lines) + 1):
        line = _read_line(path, n, raw, before)
        lines.append(line)
        before = line.hash
    journal = Journal(path, tuple(lines), len(torn))
    _last_read.clear()
    _last_read[path] = (content[: len(content) - len(torn)], journal.lines)
    return journal


def _read_line(path: Path, n: int, raw: bytes, before: str) -> Line:
    remedy = "Restore the book from a backup; do not go on with this one."
    try:
        entry = json.loads(raw)
        same = entry["n"] == n and entry["prev"] == before
        line = Line(n, _hash(raw), entry["at"], entry["what"], entry["body"])
    except (ValueError, KeyError, TypeError):
        raise DamageError(f"{path.name}, line {n} cannot be read. {remedy}") from None
    if not same:
        raise DamageError(
            f"{path.name}, line {n} does not follow from the line before it: "
            f"a line was changed, added or taken away. {remedy}"
        )
    return line


def _hash(raw: bytes) -> str:
    return hashlib.sha256(raw).hexdigest()


def append(journal: Journal, what: str, body: dict[str, Any], at: str) -> Journal:
    """Write one line to disk and return the journal with it; on return the line is safe (fsync)."""
    n, before = journal.head
    entry = {"n": n + 1, "prev": before, "at": at, "what": what, "body": body}
    raw = json.dumps(entry, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()
    with journal.path.open("r+b" if journal.path.exists() else "xb") as file:
        file.seek(0, os.SEEK_END)
        if journal.torn_bytes:
            file.seek(-journal.torn_bytes, os.SEEK_END)
            file.truncate()
        file.write(raw + b"\n")
        file.flush()
        os.fsync(file.fileno())
    line = Line(n + 1, _hash(raw), at, what, json.loads(raw)["body"])
    return Journal(journal.path, (*journal.lines, line), 0)
