"""Issues a season's documents: behind the gate, beside the earlier issue, with a journal line."""

import base64
import hashlib
import os
import shutil
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path
from typing import Any

import duckdb

from checks.gate import Check, run_gate
from checks.rules import BY_CODE
from checks.rules.fingerprint import rules_hash
from pipeline.book.book import Book, note_settings, now, writing
from pipeline.book.journal import Journal, append
from pipeline.book.keys import Keys, book_keys
from pipeline.coop import coop_facts
from pipeline.errors import BookError, DocumentError, FigureError, GateError
from pipeline.season.flags import explain_row
from pipeline.season.generations import must_have
from pipeline.season.kept_sheets import closed_at, kept_sheets
from pipeline.season.refresh import concerns
from pipeline.season.tables import connect, rows, season_sql
from pipeline.upkeep import bring_up_to_date
from reports.facts import Explain, ReportError
from reports.issue import Wanted, beside_the_others, in_order, issue_documents
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
    villages: Sequence[str] | None = None,
    changed: bool = False,
    processes: int = 0,
    progress: Callable[[int, int], None] | None = None,
    at: str = "",
) -> Issued:
    """Issue the season's documents, all or those of some members or villages.

    `changed`: the print files hold only the statements that say something else than before. A
    run that was interrupted goes on where it stopped.

    Documents bear the day up to which the book is made up, so that the same book gives the same
    bytes on any day. GateError where a law of conservation is broken; DocumentError where a
    statement cannot be drawn; FigureError for a member or village that is not in the register.
    """
    at = at or now()
    with writing(book):
        journal, settings = note_settings(book, book.journal(), at)
        settings.season(season)
        bring_up_to_date(book, journal, settings)
        previous = last_issue(book, journal, season)
        work = book.issued / f".work-{season}"
        keys = book_keys(book)
        with connect(str(must_have(book, season))) as con:
            some = _some(con, members, villages)
            gate = run_gate(con, settings.gate)
            _refuse_broken(gate)
            withheld = _withheld(con, gate)
            everyone = some is None and not withheld
            facts = coop_facts(settings, season)
            try:
                made = issue_documents(
                    con,
                    facts,
                    work,
                    day=made_up_to(journal, season),
                    explain=explain_with(settings.decimals),
                    gate=[_shown(check) for check in gate],
                    wanted=Wanted(
                        members=None if everyone else _wanted(con, some, withheld),
                        whole=some is None,
                        prints=some is None or previous is None,
                        changed=changed,
                    ),
                    previous=previous,
                    key=keys.raw,
                    processes=processes,
                    rule_titles={code: rule.title for code, rule in BY_CODE.items()},
                    progress=progress,
                )
            except ReportError as error:
                raise DocumentError(str(error)) from None
            if some is not None and previous is not None:
                made = beside_the_others(con, facts, work, made, previous)
        _tidy(work, made)
        return _keep(book, journal, season, work, previous, made, keys, by=by, at=at).with_gate(
            gate, withheld
        )


def explain_with(decimals: int) -> Explain:
    """Return what turns a flag into its sentence, its money with so many decimals."""
    return lambda row, language: explain_row(row, decimals, language)


def made_up_to(journal: Journal, season: str) -> date:
    """Return the day up to which a season is made up: the latest day on which a sheet came in.

    BookError where none has.
    """
    closed = closed_at(journal, season)
    days = [
        line.body["day"]
        for line in journal.lines
        if line.what == "taken" and concerns(line, season, closed)
    ]
    if not days:
        raise BookError(f"No sheet of season {season} has come in yet. Take its sheets first.")
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


def _some(
    con: duckdb.DuckDBPyConnection,
    members: Sequence[str] | None,
    villages: Sequence[str] | None,
) -> set[str] | None:
    """Return the members asked for, by number or village, or None for everybody."""
    if members is None and villages is None:
        return None
    of = {row["member_no"]: row["village"] for row in in_order(con)}
    for member in members or ():
        if member not in of:
            raise FigureError(f"No member has the number {member}. Look in the members' sheet.")
    for village in villages or ():
        if village not in of.values():
            there = ", ".join(sorted({name for name in of.values() if name}))
            raise FigureError(f"No member lives in a village {village!r}. There are: {there}.")
    wanted = set(villages or ())
    return {*(members or ()), *(no for no, village in of.items() if village in wanted)}


def _wanted(
    con: duckdb.DuckDBPyConnection, some: set[str] | None, withheld: dict[str, str]
) -> list[str]:
    everyone = rows(con, "select member_no from member_season where registered order by member_no")
    return [no for (no,) in everyone if (some is None or no in some) and no not in withheld]


def _tidy(work: Path, made: Manifest) -> None:
    """Take away what an interrupted run left behind and this one has no place for."""
    kept = made.files.keys() | {MANIFEST}
    for path in work.rglob("*"):
        if path.is_file() and path.relative_to(work).as_posix() not in kept:
            path.unlink()


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
    keys: Keys,
    *,
    by: str,
    at: str,
) -> _Kept:
    """Give a finished issue its folder and its journal line, unless the last one says the same."""
    said = (work / MANIFEST).read_bytes()
    manifest = hashlib.sha256(said).hexdigest()
    if previous is not None and read_manifest(previous).files == made.files:
        shutil.rmtree(work)
        return _Kept(previous, made, False, manifest)
    signature = base64.b64encode(keys.private.sign(said)).decode()
    (work / f"{MANIFEST}.sig").write_text(signature + "\n", encoding="ascii")
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
        "key": keys.public.public_bytes_raw().hex(),
        "by": by,
    }
    append(journal, "issued", body, at)
    return _Kept(folder, made, True, manifest)
