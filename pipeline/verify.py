"""Proves a book's promises, or says which one is broken and where."""

import base64
import hashlib
import json
import shutil
import tempfile
from collections.abc import Generator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import duckdb
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from pipeline.book.book import Book, kept_settings
from pipeline.book.journal import Journal
from pipeline.closing import changed_since, closed_seasons
from pipeline.errors import DamageError
from pipeline.season.balances import money_balances
from pipeline.season.coffee_sheets import LINES, coffee_weeks, whole_season
from pipeline.season.generations import current_path
from pipeline.season.kept_sheets import kept_sheets, seasons_with_sheets
from pipeline.season.laws import broken_laws
from pipeline.season.reads import DERIVED
from pipeline.season.refresh import refresh
from pipeline.season.schema import STATES
from pipeline.season.tables import connect, rows, season_sql
from reports.manifest import MANIFEST

# What sheets and decisions brought, beside the kinds' own tables, and what was worked out of it.
COMPARED = (
    "sheets",
    "unreadable",
    "converted",
    "fills",
    "succession",
    "superseded",
    "exceptions",
    "flags",
    "decisions",
    "posted",
    *DERIVED,
)


def verify(book: Book, *, rebuild: bool = True) -> dict[str, Any]:
    """Check every promise and return its figures; `ok` is true only where all of them hold.

    `rebuild`: also work every season out anew from sheets and journal and compare all its tables.
    """
    promises: dict[str, Any] = {}
    try:
        journal = book.journal()
    except DamageError as error:
        return {"ok": False, "promises": {"journal": _verdict([str(error)])}}
    promises["journal"] = _verdict([], lines=len(journal.lines), torn_bytes=journal.torn_bytes)
    promises["sheets_kept"] = _sheets_kept(book, journal)
    kept_ok = promises["sheets_kept"]["ok"]
    for season in seasons_with_sheets(journal, kept_settings(journal)):
        path = current_path(book, season)
        if path is None:
            promises[f"season {season}"] = _verdict(
                [f"There is no file for season {season}. Run: weighbook rebuild {book.path}"]
            )
            continue
        try:
            with _whole(journal, season, path) as whole:
                promises |= _of_season(book, journal, season, whole, again=rebuild and kept_ok)
        except duckdb.Error as error:
            said = str(error).partition("\n")[0]
            promises[f"season {season}"] = _verdict(
                [f"{path.name} is damaged ({said:.120}). Run: weighbook rebuild {book.path}"]
            )
    promises["carried_over"] = _verdict(changed_since(book), seasons=len(closed_seasons(journal)))
    promises["as_issued"] = _as_issued(book, journal)
    return {"ok": all(promise["ok"] for promise in promises.values()), "promises": promises}


@contextmanager
def _whole(journal: Journal, season: str, path: Path) -> Generator[Path]:
    """Give a season's file; where steps of it wait, a copy in which they are worked out."""
    with connect(str(path)) as con:
        (whole,) = rows(con, "select whole from file_facts")[0]
    if whole:
        yield path
        return
    with tempfile.TemporaryDirectory(prefix="weighbook-verify-") as folder:
        beside = Book(Path(folder))
        beside.seasons.mkdir()
        shutil.copyfile(path, beside.seasons / path.name)
        (beside.seasons / f"{season}.current").write_text(path.name, "utf-8")
        yield refresh(beside, journal, season, fresh=False)


def _of_season(
    book: Book, journal: Journal, season: str, path: Path, *, again: bool
) -> dict[str, Any]:
    promises: dict[str, Any] = {}
    with connect(str(path), macros=True) as con:
        promises[f"follows_journal {season}"] = _follows(con, journal)
        promises[f"nothing_lost {season}"] = _nothing_lost(con)
        promises[f"nothing_twice {season}"] = _nothing_twice(con)
        promises[f"it_adds_up {season}"] = _it_adds_up(con)
        promises[f"money_balances {season}"] = money_balances(con)
        promises[f"coffee_balance {season}"] = _coffee_balance(con)
    if again:
        promises[f"same_in_same_out {season}"] = _same_again(book, journal, season, path)
    return promises


def _verdict(faults: list[str], **figures: Any) -> dict[str, Any]:
    return {"ok": not faults, **figures, "faults": faults}


def _sheets_kept(book: Book, journal: Journal) -> dict[str, Any]:
    faults: list[str] = []
    sheets = kept_sheets(journal)
    for sheet in sheets:
        try:
            book.sheet(sheet.entry["sha256"])
        except DamageError as error:
            faults.append(f"{sheet.entry['name']}: {error}")
    return _verdict(faults, sheets=len(sheets))


def _follows(con: duckdb.DuckDBPyConnection, journal: Journal) -> dict[str, Any]:
    """Hold the line up to which a season was brought against the same line in the journal now."""
    n, line_hash = rows(con, "select journal_n, journal_hash from file_facts")[0]
    if n > len(journal.lines):
        return _verdict([f"The journal ends before line {n}, which the season was made from."])
    if n and journal.lines[n - 1].hash != line_hash:
        return _verdict(
            [f"Line {n} of the journal is not the one that the season was made from: changed."]
        )
    return _verdict([], brought_to_line=n)


def _nothing_lost(con: duckdb.DuckDBPyConnection) -> dict[str, Any]:
    sums = ", ".join(
        f"cast(coalesce(sum({column}), 0) as bigint)" for column in ("arrived", *STATES)
    )
    figures = dict(
        zip(("arrived", *STATES), rows(con, f"select {sums} from sheet_states")[0], strict=True)
    )
    faults = [
        f"{name} (sheet {sheet_no}): {arrived} rows arrived, {in_states} are in a state"
        for sheet_no, name, arrived, in_states in rows(
            con, season_sql("rows_not_conserved"), {"sheets": None}
        )
    ]
    if figures["arrived"] != sum(figures[state] for state in STATES):
        faults.append("The sums over all sheets differ.")
    return _verdict(faults, **figures)


def _nothing_twice(con: duckdb.DuckDBPyConnection) -> dict[str, Any]:
    twice = rows(con, season_sql("counted_twice"))
    counted = rows(con, "select count(*) from weighings where state = 'counted'")[0][0]
    faults = [f"{what} {key} counts {times} times" for what, key, times in twice]
    return _verdict(faults, receipt_lines_counted=counted)


def _it_adds_up(con: duckdb.DuckDBPyConnection) -> dict[str, Any]:
    sums = rows(
        con,
        "select cast(coalesce(sum(value_minor), 0) as bigint), "
        "cast(coalesce(sum(deducted_minor), 0) as bigint), "
        "cast(coalesce(sum(paid_minor), 0) as bigint), "
        "cast(coalesce(sum(balance_minor), 0) as bigint) from member_season",
    )[0]
    names = ("value_minor", "deducted_minor", "paid_minor", "balance_minor")
    return _verdict(broken_laws(con), **dict(zip(names, sums, strict=True)))


def _coffee_balance(con: duckdb.DuckDBPyConnection) -> dict[str, Any]:
    """Add each station's balance sheet up by itself, from its first line to its last, in grams."""
    sheets = whole_season(coffee_weeks(con))
    faults = [
        f"{sheet['station']} {sheet['species']} {sheet['form']}: {left} kg do not add up"
        for sheet in sheets
        if (
            left := sheet["opening_kg"]
            + sum(sheet[f"{line}_kg"] for line in LINES)
            - sheet["closing_kg"]
        )
    ]
    faults += [f"{law}: {one} g against {other} g" for law, one, other in _coffee_laws(con)]
    figures = ("bought_kg", "sold_kg", "water_kg", "loss_kg", "gain_kg", "closing_kg")
    stations = {
        station: {
            name: str(sum(sheet[name] for sheet in sheets if sheet["station"] == station))
            for name in figures
        }
        for station in dict.fromkeys(sheet["station"] for sheet in sheets)
    }
    return _verdict(faults, balance_sheets=len(sheets), stations=stations)


def _coffee_laws(con: duckdb.DuckDBPyConnection) -> list[tuple[Any, ...]]:
    return rows(con, season_sql("coffee_not_conserved"))


def _same_again(book: Book, journal: Journal, season: str, path: Path) -> dict[str, Any]:
    """Work the season out anew beside the book and compare table by table."""
    with tempfile.TemporaryDirectory(prefix="weighbook-verify-") as folder:
        beside = Book(Path(folder))
        beside.seasons.mkdir()
        (beside.path / "sheets").symlink_to(book.path.resolve() / "sheets")
        again = refresh(beside, journal, season, fresh=True)
        with connect(str(path)) as con:
            con.execute(f"attach '{again}' as again (read_only)")
            tables = [*COMPARED, *(f"rows_{kind}" for kind in _kind_names(con))]
            faults = [
                f"table {table} differs from what sheets and journal give"
                for table in tables
                if rows(
                    con,
                    f"select 1 from ((from {table} except all from again.{table}) union all "
                    f"(from again.{table} except all from {table})) limit 1",
                )
            ]
    return _verdict(faults, tables=len(tables))


def _kind_names(con: duckdb.DuckDBPyConnection) -> list[str]:
    found = rows(
        con,
        "select table_name from information_schema.tables where table_name like 'rows\\_%' "
        "escape '\\' and table_catalog = current_database() order by table_name",
    )
    return [name.removeprefix("rows_") for (name,) in found]


def _as_issued(book: Book, journal: Journal) -> dict[str, Any]:
    """Compare the documents on disk with the hashes that the journal and the manifest hold."""
    faults: list[str] = []
    documents = 0
    latest = {line.body["folder"]: line for line in journal.lines if line.what == "issued"}
    for folder, line in latest.items():
        manifest = book.issued / folder / MANIFEST
        if not manifest.exists() or _sha256(manifest) != line.body["manifest"]:
            faults.append(f"issued/{folder}/manifest.json is gone or was changed. Issue again.")
            continue
        if not _signed(manifest, str(line.body.get("key", ""))):
            faults.append(
                f"issued/{folder}/{MANIFEST}.sig is gone, or does not sign this manifest with the "
                "key of its issue: nobody can tell by it that the documents are genuine. Issue "
                "again."
            )
        for name, sha256 in json.loads(manifest.read_text("utf-8"))["files"].items():
            documents += 1
            file = book.issued / folder / name
            if not file.exists() or _sha256(file) != sha256:
                faults.append(f"issued/{folder}/{name} is gone or was changed. Issue again.")
    return _verdict(faults, documents=documents)


def _signed(manifest: Path, key: str) -> bool:
    """Tell whether the signature beside a manifest is of it; issues before keys have none."""
    if not key:
        return True
    try:
        signature = base64.b64decode(manifest.with_name(f"{MANIFEST}.sig").read_bytes())
        public = Ed25519PublicKey.from_public_bytes(bytes.fromhex(key))
        public.verify(signature, manifest.read_bytes())
    except (OSError, ValueError, InvalidSignature):
        return False
    return True


def _sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
