"""Issues a season's documents: behind the gate, beside the earlier issue, with a journal line."""

import hashlib
import os
import shutil
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import duckdb

from checks.gate import Check, run_gate
from checks.rules import BY_CODE
from checks.rules.fingerprint import rules_hash
from pipeline.book.book import Book, note_settings, now, writing
from pipeline.book.journal import Journal, append
from pipeline.coop import coop_facts
from pipeline.errors import DocumentError, FigureError, GateError
from pipeline.season.flags import explain_row
from pipeline.season.generations import must_have
from pipeline.season.kept_sheets import kept_sheets
from pipeline.season.refresh import concerns
from pipeline.season.tables import connect, rows, season_sql
from pipeline.upkeep import bring_up_to_date
from reports.facts import ReportError
from reports.issue import issue_documents
from reports.manifest import MANIFEST, Manifest, read_manifest


@dataclass(frozen=True, slots=True, kw_only=True)
class Issued:
    """An issue: its folder, how many statements it holds, how many were drawn anew, and the gate.

    `withheld`: members whose statement waits, each with the failed check that holds it.
    `changed` is false where the last issue says the very same, and stands.
    """

    folder: Path
    statements: int
    rendered: int
    changed: bool
    gate: list[Check]
    withheld: dict[str, str]
    manifest: str


def issue(
    book: Book,
    season: str,
    *,
    by: str,
    members: Sequence[str] | None = None,
    progress: Callable[[int], None] | None = None,
    at: str = "",
) -> Issued:
    """Issue the season's documents, all or those of some members.

    Documents bear the day up to which the book is made up, so that the same book gives the same
    bytes on any day. GateError where a law of conservation is broken; DocumentError where a
    statement cannot be drawn; FigureError for a member who is not in the register.
    """
    at = at or now()
    with writing(book):
        journal, settings = note_settings(book, book.journal(), at)
        settings.season(season)
        bring_up_to_date(book, journal, settings)
        previous = last_issue(book, journal, season)
        work = book.issued / f".work-{season}"
        shutil.rmtree(work, ignore_errors=True)
        with connect(str(must_have(book, season))) as con:
            _refuse_unknown(con, members)
            gate = run_gate(con, settings.gate)
            _refuse_broken(gate)
            withheld = _withheld(con, gate)
            wanted = _wanted(con, members, withheld)
            try:
                made = issue_documents(
                    con,
                    coop_facts(settings, season),
                    work,
                    day=made_up_to(journal, season),
                    explain=lambda row, language: explain_row(row, settings.decimals, language),
                    gate=[_shown(check) for check in gate],
                    members=wanted if members is not None or withheld else None,
                    whole=members is None,
                    previous=previous,
                    rule_titles={code: rule.title for code, rule in BY_CODE.items()},
                    progress=progress,
                )
            except ReportError as error:
                raise DocumentError(str(error)) from None
        if members is not None and previous is not None:
            made = _beside_the_others(made, previous, work)
        return _keep(book, journal, season, work, previous, made, by=by, at=at).with_gate(
            gate, withheld
        )


def made_up_to(journal: Journal, season: str) -> date:
    """Return the day up to which a season is made up: the latest day on which a sheet came in."""
    days = [
        line.body["day"]
        for line in journal.lines
        if line.what == "taken" and concerns(line, season)
    ]
    return date.fromisoformat(max(days))


def last_issue(book: Book, journal: Journal, season: str) -> Path | None:
    """Return the folder of a season's last issue, or None before the first."""
    for line in reversed(journal.lines):
        if line.what == "issued" and line.body["season"] == season:
            folder = book.issued / line.body["folder"]
            return folder if (folder / MANIFEST).exists() else None
    return None


def _shown(check: Check) -> Any:
    return {**asdict(check), "detail": _stops_words(check)}


def _stops_words(check: Check) -> str:
    if check.ok:
        return ""
    if not check.stops:
        return "Shown; stops nothing."
    if check.stops == "all":
        return "Nothing is issued or paid until this holds."
    return f"Statements of members with coffee in {check.station} {check.week} wait."


def _refuse_broken(gate: Sequence[Check]) -> None:
    broken = [check for check in gate if not check.ok and check.stops == "all"]
    if broken:
        raise GateError(
            "Nothing is issued, since the book does not add up: "
            + "; ".join(f"{check.looked_at}: {check.observed}" for check in broken)
            + ". Run weighbook verify, and ask whoever looks after the program."
        )


def _withheld(con: duckdb.DuckDBPyConnection, gate: Sequence[Check]) -> dict[str, str]:
    """Return the members whom a failed check of one station's week concerns, with the check."""
    found: dict[str, str] = {}
    for check in gate:
        if not check.ok and check.stops == "batch":
            for (member,) in rows(
                con,
                season_sql("members_of_batch"),
                {"station": check.station, "week": check.week},
            ):
                found.setdefault(
                    member, f"{check.name}: {check.looked_at}, {check.observed} ({check.allowed})"
                )
    return found


def _refuse_unknown(con: duckdb.DuckDBPyConnection, members: Sequence[str] | None) -> None:
    known = {number for (number,) in rows(con, "select member_no from member_season")}
    unknown = [member for member in members or () if member not in known]
    if unknown:
        raise FigureError(f"No member has the number {unknown[0]}. Look in the members' sheet.")


def _wanted(
    con: duckdb.DuckDBPyConnection, members: Sequence[str] | None, withheld: dict[str, str]
) -> list[str]:
    everyone = rows(con, "select member_no from member_season order by member_no")
    asked = set(members) if members is not None else None
    return [
        number
        for (number,) in everyone
        if (asked is None or number in asked) and number not in withheld
    ]


def _beside_the_others(made: Manifest, previous: Path, work: Path) -> Manifest:
    """Put a few members' new statements beside the others of the last issue, unchanged."""
    before = read_manifest(previous)
    new = {statement.member_no: statement for statement in made.statements}
    for name in before.files:
        target = work / name
        if name not in made.files and (previous / name).is_file():
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(previous / name, target)
    merged = replace(
        before,
        files={**before.files, **made.files},
        statements=tuple(new.pop(s.member_no, s) for s in before.statements) + tuple(new.values()),
        rendered=made.rendered,
    )
    (work / MANIFEST).write_text(merged.text(), encoding="utf-8")
    return merged


@dataclass(frozen=True, slots=True)
class _Kept:
    folder: Path
    made: Manifest
    changed: bool
    manifest: str

    def with_gate(self, gate: list[Check], withheld: dict[str, str]) -> Issued:
        return Issued(
            folder=self.folder,
            statements=len(self.made.statements),
            rendered=self.made.rendered,
            changed=self.changed,
            gate=gate,
            withheld=withheld,
            manifest=self.manifest,
        )


def _keep(
    book: Book,
    journal: Journal,
    season: str,
    work: Path,
    previous: Path | None,
    made: Manifest,
    *,
    by: str,
    at: str,
) -> _Kept:
    """Give a finished issue its folder and its journal line, unless the last one says the same."""
    manifest = hashlib.sha256((work / MANIFEST).read_bytes()).hexdigest()
    if previous is not None and read_manifest(previous).files == made.files:
        shutil.rmtree(work)
        return _Kept(previous, made, False, manifest)
    number = 1 + sum(
        line.what == "issued" and line.body["season"] == season for line in journal.lines
    )
    folder = book.issued / f"{season}-{number:03d}"
    # A folder without a journal line is what a crash left behind: it was never issued.
    shutil.rmtree(folder, ignore_errors=True)
    os.replace(work, folder)
    n, line_hash = journal.head
    body = {
        "season": season,
        "folder": folder.name,
        "manifest": manifest,
        "statements": len(made.statements),
        "made_from": {"n": n, "hash": line_hash, "sheets": len(kept_sheets(journal))},
        "rules": rules_hash(),
        "by": by,
    }
    append(journal, "issued", body, at)
    return _Kept(folder, made, True, manifest)
