"""Draws statements, here or in a process a core: pages, PDFs, words to read aloud, messages."""

from __future__ import annotations

import datetime as dt
import multiprocessing
import os
from collections.abc import Callable, Generator, Iterable
from contextlib import contextmanager
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from reports import render
from reports.aloud import aloud
from reports.facts import CoopFacts, ReportError, Row
from reports.manifest import Statement
from reports.messages import statement_text
from reports.statement import dated, voice
from reports.statement_paper import statement_pdf

# Below this many, starting a second process costs more than it saves.
ALONE = 60
# The key that signs, in this process: never sent with a job.
_KEYS: list[Ed25519PrivateKey | None] = [None]


@dataclass(frozen=True, slots=True)
class Job:
    """One statement to be drawn: picklable, so that another process may do it."""

    entry: Statement
    model: Row
    facts: CoopFacts
    folder: str


@dataclass(frozen=True, slots=True)
class Drawn:
    """What came of a job: hashes by file and the text message, or what went wrong."""

    hashes: dict[str, str] = field(default_factory=dict[str, str])
    message: str = ""
    failure: str = ""


def write(out_dir: Path, name: str, data: bytes) -> str:
    """Writes a file whole or not at all; returns its SHA-256."""
    path = out_dir / name
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(path.name + ".part")
    part.write_bytes(data)
    os.replace(part, path)
    return sha256(data).hexdigest()


def draw(job: Job) -> Drawn:
    """Draws one statement; a failure comes back as its message, so that all are told at once."""
    entry, folder, day = job.entry, Path(job.folder), dt.date.fromisoformat(job.entry.day)
    key = _KEYS[0]
    model = dated(
        job.model, job.facts, day=day, version=entry.version, sign=key.sign if key else None
    )
    says = voice(model["lang"], job.facts)
    try:
        made = {
            entry.html: render.page("statement", model),
            entry.pdf: statement_pdf(
                model, day=day, subject=f"member {entry.member_no}, {entry.name}"
            ),
            entry.txt: aloud(says, model).encode(),
        }
    except ReportError as error:
        return Drawn(failure=str(error))
    hashes = {name: write(folder, name, data) for name, data in made.items()}
    return Drawn(hashes=hashes, message=statement_text(says, model))


def public_bytes(key: bytes | None) -> bytes | None:
    """The public half of a key that signs, 32 bytes."""
    if key is None:
        return None
    return Ed25519PrivateKey.from_private_bytes(key).public_key().public_bytes_raw()


def _take_key(key: bytes | None) -> None:
    _KEYS[0] = Ed25519PrivateKey.from_private_bytes(key) if key else None


@contextmanager
def drawing(
    processes: int, expected: int, key: bytes | None
) -> Generator[Callable[[list[Job]], Iterable[Drawn]]]:
    """A way to draw many: here for a few, in a process a core for more, in order either way.

    What it gives is drawn while the caller makes the next ready. `key`: 32 bytes that sign.
    """
    cores = processes or os.cpu_count() or 1
    if cores == 1 or expected < ALONE:
        _take_key(key)
        try:
            yield lambda jobs: map(draw, jobs)
        finally:
            _take_key(None)
        return
    # Spawned, not forked: the database's threads must not be copied half-way.
    with multiprocessing.get_context("spawn").Pool(cores, _take_key, (key,)) as pool:
        yield lambda jobs: pool.imap(draw, jobs, chunksize=10)
