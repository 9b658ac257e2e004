"""Writes all documents of an issue into a folder, and a manifest of what was written."""

from __future__ import annotations

import datetime as dt
import multiprocessing
import os
import re
import shutil
import unicodedata
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from itertools import islice
from pathlib import Path

import duckdb

from reports import render
from reports.facts import CoopFacts, Explain, ReportError, Row
from reports.figures import Figures
from reports.gate_page import Check, gate_page
from reports.group import group_model
from reports.manifest import MANIFEST, Manifest, Statement, read_manifest
from reports.statement import content_hash, dated, statement_models
from reports.words import catalogue, spoken

Progress = Callable[[int], None]
"""Told how many statements are done so far."""

# Below this many, starting a second process costs more than it saves.
_ALONE = 60
_BATCH = 200


Drawn = Iterable[tuple[dict[str, str], str | None]]
"""Per statement: hashes by file, or the message of what went wrong."""


@dataclass(frozen=True, slots=True)
class _Job:
    """One statement to be drawn: picklable, so that another process may do it."""

    entry: Statement
    model: Row
    folder: str


@dataclass(frozen=True, slots=True)
class _Earlier:
    """The issue before: its folder, its hashes by file, its entries by member."""

    folder: Path
    files: Mapping[str, str]
    entries: Mapping[str, Statement]

    @classmethod
    def of(cls, folder: Path | None) -> _Earlier | None:
        if folder is None:
            return None
        kept = read_manifest(folder)
        return cls(folder, kept.files, {entry.member_no: entry for entry in kept.statements})


def issue_documents(
    con: duckdb.DuckDBPyConnection,
    facts: CoopFacts,
    out_dir: Path,
    *,
    day: dt.date,
    explain: Explain,
    gate: Sequence[Check],
    members: Sequence[str] | None = None,
    whole: bool | None = None,
    previous: Path | None = None,
    rule_titles: Mapping[str, str] | None = None,
    processes: int = 0,
    progress: Progress | None = None,
) -> Manifest:
    """Writes statements, group report, checks, index and manifest into `out_dir`.

    `previous` is the folder of the issue before: a statement that says the same is taken from
    there with its number and date, one that says something else gets the next version.
    `members` narrows the statements, and then neither group report nor index is written unless
    `whole` asks for them: the group report is of everybody either way.
    `processes` 0 takes one a core. The manifest is written last. ReportError names every
    statement that cannot be drawn, and no manifest is then written.
    """
    models = statement_models(con, facts, explain=explain, members=members)
    with _drawing(processes, len(members) if members is not None else _count(con)) as draw:
        entries, files, rendered = _statements(
            models, facts, _Earlier.of(previous), out_dir, day=day, draw=draw, progress=progress
        )
    files["gate.html"] = _write(out_dir, "gate.html", gate_page(facts, gate, day=day))
    if whole or (whole is None and members is None):
        files.update(_group(con, facts, out_dir, day=day, gate=gate, titles=rule_titles))
        files["index.html"] = _write(out_dir, "index.html", _index(facts, day, entries))
    made = Manifest(
        season=facts.season,
        day=day.isoformat(),
        files=files,
        statements=tuple(entries),
        rendered=rendered,
    )
    _write(out_dir, MANIFEST, made.text().encode())
    return made


def _statements(
    models: Iterator[Row],
    facts: CoopFacts,
    earlier: _Earlier | None,
    out_dir: Path,
    *,
    day: dt.date,
    draw: Callable[[list[_Job]], Drawn],
    progress: Progress | None,
) -> tuple[list[Statement], dict[str, str], int]:
    """Draws or carries over every statement: entries, hashes by file, and how many were drawn."""
    files: dict[str, str] = {}
    entries: list[Statement] = []
    failures: list[str] = []
    rendered = 0
    while batch := list(islice(models, _BATCH)):
        jobs: list[_Job] = []
        for model in batch:
            entry, kept = _entry(model, facts, earlier.entries if earlier else {}, day)
            entries.append(entry)
            if kept and earlier and _carry(entry, earlier, out_dir, files):
                continue
            issued = dt.date.fromisoformat(entry.day)
            ready = dated(model, facts, day=issued, version=entry.version)
            jobs.append(_Job(entry, ready, str(out_dir)))
        for hashes, failure in draw(jobs):
            files.update(hashes)
            failures += [failure] if failure else []
        rendered += len(jobs)
        if progress:
            progress(len(entries))
    if failures:
        raise ReportError("\n".join(failures))
    return entries, files, rendered


def _count(con: duckdb.DuckDBPyConnection) -> int:
    row = con.execute("select count(*) from member_season").fetchone()
    return int(row[0]) if row else 0


def _entry(
    model: Row, facts: CoopFacts, earlier: Mapping[str, Statement], day: dt.date
) -> tuple[Statement, bool]:
    """The manifest entry of a statement, and whether the earlier one says the same."""
    who = model["member"]
    content = content_hash(model, made_with=render.made_with())
    old = earlier.get(who["no"])
    same = old is not None and old.content == content
    version = 1 if old is None else old.version if same else old.version + 1
    where = f"statements/{file_name(who['village'])}/{file_name(who['no'])}"
    entry = Statement(
        member_no=who["no"],
        village=who["village"],
        name=who["name"],
        number=f"{facts.season}-{who['no']}-{version}",
        version=version,
        day=old.day if same and old else day.isoformat(),
        content=content,
        html=f"{where}.html",
        pdf=f"{where}.pdf",
    )
    return entry, same


def file_name(text: str) -> str:
    """A name that any file system takes; Lower Tarrin gives lower-tarrin, 10427 stays.

    Other texts give other names, but for the words of a place: there only letters' case differs.
    """
    bare = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    plain = re.sub(r"[^a-z0-9]+", "-", bare.casefold()).strip("-")[:60]
    if re.fullmatch(r"[0-9]{1,60}|([A-Z][a-z]{3,14} ?){1,4}(?<! )", text):
        return plain
    # What was lost or folded above, the mark tells apart; no system keeps such a name for itself.
    return f"{plain or 'x'}-{sha256(text.encode()).hexdigest()[:8]}"


def _carry(entry: Statement, earlier: _Earlier, out_dir: Path, files: dict[str, str]) -> bool:
    """Takes both files of an unchanged statement from the issue before, if they are undamaged."""
    for name in (entry.html, entry.pdf):
        path = earlier.folder / name
        if name not in earlier.files or not path.is_file():
            return False
        if sha256(path.read_bytes()).hexdigest() != earlier.files[name]:
            return False
    for name in (entry.html, entry.pdf):
        target = out_dir / name
        if target != earlier.folder / name:
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(earlier.folder / name, target)
        files[name] = earlier.files[name]
    return True


def _write(out_dir: Path, name: str, data: bytes) -> str:
    """Writes a file whole or not at all; returns its SHA-256."""
    path = out_dir / name
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(path.name + ".part")
    part.write_bytes(data)
    os.replace(part, path)
    return sha256(data).hexdigest()


def _draw(job: _Job) -> tuple[dict[str, str], str | None]:
    """Draws one statement; a failure comes back as its message, so that all are told at once."""
    who = job.model["member"]
    folder, day = Path(job.folder), dt.date.fromisoformat(job.entry.day)
    try:
        page = render.page("statement", job.model)
        subject = f"member {who['no']}, {who['name']}"
        pdf = render.pdf("statement", job.model, day=day, subject=subject)
    except ReportError as error:
        return {}, str(error)
    hashes = {
        job.entry.html: _write(folder, job.entry.html, page),
        job.entry.pdf: _write(folder, job.entry.pdf, pdf),
    }
    return hashes, None


@contextmanager
def _drawing(processes: int, expected: int) -> Generator[Callable[[list[_Job]], Drawn]]:
    """A way to draw many: here for a few, in a process a core for more, in order either way."""
    cores = processes or os.cpu_count() or 1
    if cores == 1 or expected < _ALONE:
        yield lambda jobs: map(_draw, jobs)
        return
    # Spawned, not forked: the database's threads must not be copied half-way.
    with multiprocessing.get_context("spawn").Pool(cores) as pool:
        yield lambda jobs: pool.map(_draw, jobs, chunksize=10)


def _group(
    con: duckdb.DuckDBPyConnection,
    facts: CoopFacts,
    out_dir: Path,
    *,
    day: dt.date,
    gate: Sequence[Check],
    titles: Mapping[str, str] | None,
) -> dict[str, str]:
    model = group_model(con, facts, day=day, gate=gate, rule_titles=titles)
    html, pdf = "group/group_report.html", "group/group_report.pdf"
    return {
        html: _write(out_dir, html, render.page("group", model)),
        pdf: _write(out_dir, pdf, render.pdf("group", model, day=day, subject="group report")),
    }


def _index(facts: CoopFacts, day: dt.date, entries: Sequence[Statement]) -> bytes:
    """The page that leads to every document of the issue."""
    language = spoken(None, facts.languages)
    say = catalogue(language).gettext
    villages: dict[str, list[Row]] = {}
    for entry in entries:
        member = {"no": entry.member_no, "name": entry.name, "html": entry.html, "pdf": entry.pdf}
        villages.setdefault(entry.village, []).append(member)
    group = say("Group report")
    model = {
        "lang": language,
        "title": say("Documents of season") + f" {facts.season}",
        "coop": facts.name,
        "day": Figures(language, facts.currency, facts.decimals).day(day),
        "documents": [
            {"href": "group/group_report.html", "label": group},
            {"href": "group/group_report.pdf", "label": f"{group}, PDF"},
            {"href": "gate.html", "label": say("Checks before issue")},
        ],
        "villages": [{"name": name, "members": listed} for name, listed in villages.items()],
        "words": {
            "member": say("Member"),
            "name": say("Name"),
            "statement": say("Statement"),
            "page": say("page"),
        },
    }
    return render.page("index", model)
