"""Writes all documents of an issue into a folder, and a manifest of what was written."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path

import duckdb

from reports import render
from reports.drawing import Drawn, Job, drawing, public_bytes, write
from reports.earlier import Earlier, Stopped
from reports.facts import CoopFacts, Explain, ReportError, Row
from reports.gate_page import Check, gate_page
from reports.group import group_model
from reports.index_page import index_page
from reports.made_with import made_with
from reports.manifest import MANIFEST, Manifest, Statement, file_name
from reports.prints import print_file
from reports.query import rows
from reports.statement import content_hash, statement_models
from reports.telling import Message, as_csv, bare_phone

Progress = Callable[[int, int], None]
"""Told how many statements are done so far, and of how many."""

_BATCH = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What is issued: `members` narrows the statements, None is everybody.

    `whole`: with the group report and the index, which are of everybody either way; None gives
    them where all statements are made. `prints`: with a print file a village; `changed`: of the
    statements only that were drawn anew.
    """

    members: Sequence[str] | None = None
    whole: bool | None = None
    prints: bool = True
    changed: bool = False


@dataclass(slots=True)
class _Made:
    """Entries in order, hashes by file, and the members whose statements were drawn anew."""

    entries: list[Statement]
    files: dict[str, str]
    drawn: set[str]
    failures: list[str]

    def by_village(self) -> dict[str, list[Statement]]:
        """The entries of each village, in the order of issue."""
        villages: dict[str, list[Statement]] = {}
        for entry in self.entries:
            villages.setdefault(entry.village, []).append(entry)
        return villages


def issue_documents(
    con: duckdb.DuckDBPyConnection,
    facts: CoopFacts,
    out_dir: Path,
    *,
    day: dt.date,
    explain: Explain,
    gate: Sequence[Check],
    wanted: Wanted | None = None,
    previous: Path | None = None,
    rule_titles: Mapping[str, str] | None = None,
    key: bytes | None = None,
    processes: int = 0,
    progress: Progress | None = None,
) -> Manifest:
    """Writes statements, print files, messages, group report, checks, index and manifest.

    `previous` is the folder of the issue before: a statement that says the same is taken from
    there with its number and date, one that says something else gets the next version. What an
    interrupted run left in `out_dir` is taken as it is where it says the same. `key`: 32 bytes of
    Ed25519 that sign each statement. `processes` 0 takes one a core. The manifest is written
    last. ReportError names every statement that cannot be drawn; no manifest is then written.
    """
    wanted = wanted or Wanted()
    models = statement_models(con, facts, explain=explain, members=wanted.members)
    expected = len(wanted.members) if wanted.members is not None else _count(con)
    earlier = Earlier.of(previous)
    with drawing(processes, expected, key) as draw, Stopped.at(out_dir) as stopped:
        made = _statements(
            models, facts, (earlier, stopped), out_dir, day=day, draw=draw,
            made_with=made_with(public_bytes(key)),
            told=lambda n: progress and progress(n, expected),
        )  # fmt: skip
    if made.failures:
        raise ReportError("\n".join(made.failures))
    files = made.files
    if wanted.prints:
        files.update(_prints(facts, made, earlier, out_dir, changed=wanted.changed))
    files["messages.csv"] = write(out_dir, "messages.csv", _messages(con, made.entries))
    files["gate.html"] = write(out_dir, "gate.html", gate_page(facts, gate, day=day))
    if wanted.whole or (wanted.whole is None and wanted.members is None):
        files.update(_group(con, facts, out_dir, day=day, gate=gate, titles=rule_titles))
        files["index.html"] = write(
            out_dir, "index.html", index_page(facts, day, made.by_village(), made.files)
        )
    manifest = Manifest(
        season=facts.season,
        day=day.isoformat(),
        files=files,
        statements=tuple(made.entries),
        rendered=len(made.drawn),
    )
    write(out_dir, MANIFEST, manifest.text().encode())
    Stopped.forget(out_dir)
    return manifest


def _statements(
    models: Iterator[Row],
    facts: CoopFacts,
    before: tuple[Earlier | None, Stopped],
    out_dir: Path,
    *,
    day: dt.date,
    draw: Callable[[list[Job]], Iterable[Drawn]],
    made_with: str,
    told: Callable[[int], object],
) -> _Made:
    """Draws or carries over every statement; one batch is drawn while the next is made ready."""
    made = _Made([], {}, set(), [])
    earlier, stopped = before
    waiting: tuple[list[tuple[int, Job]], Iterable[Drawn]] = ([], [])
    while batch := list(islice(models, _BATCH)):
        jobs: list[tuple[int, Job]] = []
        for model in batch:
            entry = _entry(model, facts, earlier, day, made_with)
            kept = (earlier and earlier.carry(entry, out_dir)) or stopped.kept(entry)
            if kept:
                made.entries.append(replace(entry, message=kept.message))
                made.files.update(kept.hashes)
                made.drawn |= {entry.member_no} if kept.drawn else set()
                continue
            jobs.append((len(made.entries), Job(entry, model, facts, str(out_dir))))
            made.entries.append(entry)
        drawn = draw([job for _, job in jobs])
        _collect(made, stopped, *waiting)
        waiting = (jobs, drawn)
        told(len(made.entries) - len(jobs))
    _collect(made, stopped, *waiting)
    told(len(made.entries))
    return made


def _collect(
    made: _Made, stopped: Stopped, jobs: list[tuple[int, Job]], drawn: Iterable[Drawn]
) -> None:
    for (at, job), result in zip(jobs, drawn, strict=True):
        if result.failure:
            made.failures.append(result.failure)
            continue
        made.entries[at] = replace(job.entry, message=result.message)
        made.files.update(result.hashes)
        made.drawn.add(job.entry.member_no)
        stopped.note(job.entry, result.hashes, result.message)


def in_order(con: duckdb.DuckDBPyConnection) -> list[Row]:
    """Every member of the register in the order of issue, with village."""
    return rows(con, "members_in_order", members=None)


def _count(con: duckdb.DuckDBPyConnection) -> int:
    row = con.execute("select count(*) from member_season where registered").fetchone()
    return int(row[0]) if row else 0


def _entry(
    model: Row, facts: CoopFacts, earlier: Earlier | None, day: dt.date, made_with: str
) -> Statement:
    """The manifest entry of a statement: number and date of the earlier one if it says the same."""
    who = model["member"]
    content = content_hash(model, made_with=made_with)
    old = earlier.entries.get(who["no"]) if earlier else None
    same = old is not None and old.content == content
    version = 1 if old is None else old.version if same else old.version + 1
    where = f"statements/{file_name(who['village'])}/{file_name(who['no'])}"
    return Statement(
        member_no=who["no"],
        village=who["village"],
        name=who["name"],
        number=f"{facts.season}-{who['no']}-{version}",
        version=version,
        day=old.day if same and old else day.isoformat(),
        content=content,
        html=f"{where}.html",
        pdf=f"{where}.pdf",
        txt=f"{where}.txt",
    )


def _prints(
    facts: CoopFacts, made: _Made, earlier: Earlier | None, out_dir: Path, *, changed: bool
) -> dict[str, str]:
    """One print file a village, taken from the issue before where all in it are as they were."""
    files: dict[str, str] = {}
    for village, everyone in made.by_village().items():
        entries = [e for e in everyone if not changed or e.member_no in made.drawn]
        if not entries:
            continue
        name = f"print/{file_name(village)}.pdf"
        pdfs = [made.files[entry.pdf] for entry in entries]
        kept = earlier and earlier.carry_print(name, village, pdfs, out_dir)
        files[name] = kept or _print(facts, village, entries, out_dir)
    return files


def _print(facts: CoopFacts, village: str, entries: Sequence[Statement], out_dir: Path) -> str:
    pdfs = [out_dir / entry.pdf for entry in entries]
    title = f"{facts.name}, {facts.season}, {village}"
    return write(out_dir, f"print/{file_name(village)}.pdf", print_file(pdfs, title=title))


def beside_the_others(
    con: duckdb.DuckDBPyConnection, facts: CoopFacts, out_dir: Path, some: Manifest, previous: Path
) -> Manifest:
    """Puts a few members' new statements beside the others of the issue before, unchanged.

    The print files of their villages and the messages are made anew; the group report and the
    index stay as they were.
    """
    before = Earlier.of(previous)
    if before is None:
        return some
    for name in before.files.keys() - some.files.keys():
        before.take(name, out_dir)
    new = {entry.member_no: entry for entry in some.statements}
    made = _Made([new.pop(no, entry) for no, entry in before.entries.items()], {}, set(), [])
    made.entries += new.values()
    made.files = {**before.files, **some.files}
    touched = {entry.village for entry in some.statements}
    for village, entries in made.by_village().items():
        if village in touched and f"print/{file_name(village)}.pdf" in before.files:
            name = f"print/{file_name(village)}.pdf"
            made.files[name] = _print(facts, village, entries, out_dir)
    made.files["messages.csv"] = write(out_dir, "messages.csv", _messages(con, made.entries))
    merged = replace(some, files=made.files, statements=tuple(made.entries))
    write(out_dir, MANIFEST, merged.text().encode())
    return merged


def _messages(con: duckdb.DuckDBPyConnection, entries: Sequence[Statement]) -> bytes:
    """Every statement as text message with the member's number to send it to, as CSV."""
    phones = {row["member_no"]: row["phone"] for row in rows(con, "members_phones")}
    return as_csv(
        [
            Message(
                member_no=entry.member_no,
                phone=bare_phone(phones.get(entry.member_no)),
                text=entry.message,
            )
            for entry in entries
        ]
    ).encode()


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
        html: write(out_dir, html, render.page("group", model)),
        pdf: write(out_dir, pdf, render.pdf("group", model, day=day, subject="group report")),
    }
