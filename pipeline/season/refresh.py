"""Brings a season file up to the journal: sheets into typed rows, then all that follows from them."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

import duckdb
import polars as pl

from checks.engine import check_kind, check_season
from checks.limits import write_limits
from pipeline.book.book import Book, kept_settings
from pipeline.book.journal import Journal, Line
from pipeline.errors import ConservationError
from pipeline.intake.cells import type_rows
from pipeline.intake.found import Cells
from pipeline.intake.kept import Reader
from pipeline.intake.kinds import Kind, kinds
from pipeline.intake.recognise import match_headings, notes_on_kind
from pipeline.numbers import member_check_ok
from pipeline.season.amend import apply_amendment, carry_amendments, note_decision
from pipeline.season.generations import SCHEMA_NO, current_path, publish, working_copy
from pipeline.season.sheet_text import Given, text_of_sheets
from pipeline.season.tables import (
    connect,
    create_tables,
    makings_hash,
    note_succession,
    rows,
    season_sql,
)
from pipeline.settings import Settings

# Rows of a kind that are typed and inserted together.
ROWS_AT_ONCE = 500_000


@dataclass(frozen=True, slots=True)
class KeptSheet:
    """A sheet of the journal with its number, counted over the whole book from 1."""

    sheet_no: int
    line_n: int
    day: str
    entry: Mapping[str, Any]

    @property
    def part(self) -> str:
        """Its worksheet or archive member; "" where the file is the sheet."""
        return self.entry.get("part", "")

    @property
    def season(self) -> str:
        """The season it speaks for, "" for a register."""
        return self.entry["season"]


def kept_sheets(journal: Journal) -> list[KeptSheet]:
    """Return every sheet the journal holds, in the order in which they were taken."""
    found: list[KeptSheet] = []
    for line in journal.lines:
        if line.what == "taken":
            for entry in line.body["sheets"]:
                found.append(KeptSheet(len(found) + 1, line.n, line.body["day"], entry))
    return found


def standing_sheets(journal: Journal) -> list[KeptSheet]:
    """Return the sheets without those that were kept unread and have been read since."""
    sheets = kept_sheets(journal)
    gone = {old["sheet_no"] for sheet in sheets for old in sheet.entry.get("instead_of", ())}
    return [sheet for sheet in sheets if sheet.sheet_no not in gone]


def concerns(line: Line, season: str) -> bool:
    """Tell whether a journal line changes what a season file holds."""
    if line.what == "taken":
        return any(
            one["season"] in ("", season)
            for entry in line.body["sheets"]
            for one in (entry, *entry.get("instead_of", ()))
        )
    if line.what == "decided":
        return line.body["season"] == season
    return line.what == "settings"


def refresh(
    book: Book,
    journal: Journal,
    season: str,
    *,
    reader: Reader | None = None,
    fresh: bool = False,
    threads: int = 0,
) -> Path:
    """Write the next generation of a season file, with every journal line applied.

    `reader`: holds what was just read, so that a sheet just taken is not read twice.
    A crash at any point leaves the file before this one current. ConservationError where the rows
    do not add up; then nothing is published.
    """
    settings = kept_settings(journal)
    current = current_path(book, season)
    fresh = fresh or current is None or not can_go_on(current, journal)
    work = working_copy(book, season, fresh=fresh)
    with connect(str(work), read_only=False, macros=True, threads=threads) as con:
        con.execute("begin transaction")
        if fresh:
            create_tables(con)
            write_settings(con, settings, season)
        done = 0 if fresh else int(rows(con, "select journal_n from file_facts")[0][0])
        reader = reader or Reader(settings.intake)
        _apply(con, book, journal, settings, season, done, reader)
        work_out(con, settings)
        n, line_hash = journal.head
        con.execute("delete from file_facts")
        con.execute(
            "insert into file_facts values (?, ?, ?, ?, ?, ?)",
            [SCHEMA_NO, season, n, line_hash, settings.hash, makings_hash()],
        )
        con.execute("commit")
        con.execute("checkpoint")
    return publish(book, season, work, journal.head[0])


def can_go_on(path: Path, journal: Journal) -> bool:
    """Tell whether a file was made by this schema, the settings now kept and this rule table."""
    settings = kept_settings(journal)
    with connect(str(path)) as con:
        facts = rows(con, "select schema_no, settings_hash, makings_hash from file_facts")
    return facts == [(SCHEMA_NO, settings.hash, makings_hash())]


def write_settings(con: duckdb.DuckDBPyConnection, settings: Settings, season: str) -> None:
    """Put the settings that SQL looks at into their tables."""
    for station in settings.stations:
        con.execute(
            "insert into stations values (?, ?, ?)", [station.code, station.name, station.zone]
        )
    for scale in settings.scales:
        con.execute(
            "insert into scales values (?, ?, ?, ?, ?, ?)",
            [
                scale.code,
                scale.station,
                scale.capacity_kg,
                scale.interval_kg,
                scale.accuracy_class,
                scale.verified,
            ],
        )
    for position, d in enumerate(settings.deductions, start=1):
        con.execute(
            "insert into deductions values (?, ?, ?, ?, ?, ?, ?)",
            [position, d.code, d.name, d.authority, d.form or None, d.percent, d.per_kg],
        )
    days = settings.season(season)
    con.execute("insert into season_days values (?, ?)", [days.first_day, days.last_day])
    write_limits(con, settings.limits, [station.code for station in settings.stations])


def _apply(
    con: duckdb.DuckDBPyConnection,
    book: Book,
    journal: Journal,
    settings: Settings,
    season: str,
    done: int,
    reader: Reader,
) -> None:
    """Apply the lines after number `done`: runs of sheets in one go, decisions in their order."""
    by_line: dict[int, list[KeptSheet]] = {}
    for sheet in standing_sheets(journal):
        if sheet.season in ("", season):
            by_line.setdefault(sheet.line_n, []).append(sheet)
    _take_away_answered(con, journal)
    waiting: list[KeptSheet] = []
    for line in journal.lines[done:]:
        if line.what == "taken":
            waiting += by_line.get(line.n, [])
        elif line.what == "decided" and line.body["season"] == season:
            _insert(con, book, settings, waiting, reader)
            waiting = []
            note_decision(con, line)
            apply_amendment(con, line, settings.decimals)
    _insert(con, book, settings, waiting, reader)


def _take_away_answered(con: duckdb.DuckDBPyConnection, journal: Journal) -> None:
    """Take sheets away that were kept unread and have been read since, under another number."""
    standing = {sheet.sheet_no for sheet in standing_sheets(journal)}
    gone = [no for (no,) in rows(con, "select sheet_no from sheets") if no not in standing]
    if gone:
        con.execute("delete from sheets where list_contains(?, sheet_no)", [gone])


def _insert(
    con: duckdb.DuckDBPyConnection,
    book: Book,
    settings: Settings,
    sheets: Sequence[KeptSheet],
    reader: Reader,
) -> None:
    """Insert the rows of many sheets, few statements a kind."""
    waiting: dict[str, list[Given]] = {}
    absent: list[tuple[int, str, int]] = []
    last: dict[int, Cells] = {}
    for sheet in sheets:
        if not sheet.entry["kind"]:
            continue
        kind = kinds()[sheet.entry["kind"]]
        for cells in reader.cells(sheet.entry["sha256"], sheet.part, book.sheet):
            if sheet.sheet_no not in last:
                absent += _absent_columns(kind, sheet, cells)
            last[sheet.sheet_no] = (
                cells
                if cells.frame.height < ROWS_AT_ONCE
                else replace(cells, frame=cells.frame.clear())
            )
            found = waiting.setdefault(kind.name, [])
            found.append((sheet.sheet_no, cells, _said(sheet)))
            if sum(one.frame.height for _, one, _ in found) >= ROWS_AT_ONCE:
                _insert_rows(con, kind, settings, waiting.pop(kind.name), absent)
    _note_sheets(con, sheets, last)
    for name, found in waiting.items():
        _insert_rows(con, kinds()[name], settings, found, absent)
    for name in {sheet.entry["kind"] for sheet in sheets} & kinds().keys():
        carry_amendments(con, kinds()[name], settings.decimals)
    by_no = {sheet.sheet_no: sheet for sheet in sheets}
    for sheet_no, column, header_row in absent:
        con.execute(
            "insert into unreadable values (?, ?, ?, ?, null, 'no-such-column')",
            [by_no[sheet_no].entry["kind"], sheet_no, header_row, column],
        )


def _said(sheet: KeptSheet) -> Mapping[str, str]:
    """Return the station and recorder that somebody gave for a sheet, for its empty cells."""
    said = sheet.entry.get("said", {})
    return {name: said[name] for name in ("station", "recorder") if name in said}


def _absent_columns(kind: Kind, sheet: KeptSheet, cells: Cells) -> list[tuple[int, str, int]]:
    given = match_headings(kind, cells.headings).keys() | _said(sheet).keys()
    return [
        (sheet.sheet_no, column.name, cells.header_row)
        for column in kind.columns
        if column.required and column.name not in given
    ]


def _insert_rows(
    con: duckdb.DuckDBPyConnection,
    kind: Kind,
    settings: Settings,
    found: list[Given],
    absent: list[tuple[int, str, int]],
) -> None:
    typed = type_rows(kind, text_of_sheets(kind, found), settings.decimals)
    missing = pl.DataFrame(
        [(no, col) for no, col, _ in absent],
        schema={"sheet_no": pl.Int32, "col": pl.String},
        orient="row",
    )
    # A heading that is missing is said once, not again in every row.
    unreadable = typed.unreadable.join(
        missing, on=["sheet_no", "col"], how="anti", maintain_order="left"
    )
    con.register("typed_rows", typed.rows.to_arrow())
    # Sheets come in the order of their numbers and rows in theirs; DuckDB keeps that order.
    con.execute(f"insert into rows_{kind.name} select * from typed_rows")
    con.register("unreadable_cells", unreadable.to_arrow())
    con.execute("insert into unreadable select * from unreadable_cells")
    con.unregister("typed_rows")
    con.unregister("unreadable_cells")


def _note_sheets(
    con: duckdb.DuckDBPyConnection, sheets: Sequence[KeptSheet], read: Mapping[int, Cells]
) -> None:
    """Note the sheets themselves, each as the next version of its slot."""
    versions = dict(
        rows(con, "select slot, count(*) from sheets where slot is not null group by slot")
    )
    noted: list[dict[str, Any]] = []
    for sheet in sheets:
        entry, cells = sheet.entry, read.get(sheet.sheet_no)
        slot = entry["slot"] or None
        versions[slot] = versions.get(slot, 0) + 1 if slot else 1
        noted.append(
            {
                "sheet_no": sheet.sheet_no,
                **{key: entry[key] or None for key in ("sha256", "name", "kind")},
                **{key: entry[key] or None for key in ("station", "week", "recorder")},
                "slot": slot,
                "version": versions[slot],
                "taken_day": sheet.day,
                "arrived": entry["arrived"],
                "reader": cells.reader if cells else None,
                "headings": "{}",
                "problem": entry["problem"],
                "part": sheet.part,
                "encoding": cells.encoding if cells else "",
                "only_adds": bool(entry.get("only_adds")),
                "notes": "[]",
                **(_of_cells(sheet, cells) if cells is not None else {}),
            }
        )
    if noted:
        con.register("noted_sheets", pl.DataFrame(noted, infer_schema_length=None).to_arrow())
        con.execute("insert into sheets by name select * from noted_sheets")
        con.unregister("noted_sheets")


def _of_cells(sheet: KeptSheet, cells: Cells) -> dict[str, Any]:
    """Return what a sheet's cells tell about it: headings, columns that lack, what was noticed."""
    kind = kinds()[sheet.entry["kind"]]
    places = match_headings(kind, cells.headings)
    headings = {name: cells.headings[place] for name, place in places.items()}
    lacking = [kind.column(name).title for _, name, _ in _absent_columns(kind, sheet, cells)]
    notes = [asdict(note) for note in (*cells.notes, *notes_on_kind(kind, cells))]
    return {
        "headings": json.dumps(headings, ensure_ascii=False),
        "problem": f"missing-column: {', '.join(lacking)}" if lacking else None,
        "notes": json.dumps(notes, ensure_ascii=False),
    }


DERIVED = (
    "succession",
    "exceptions",
    "flags",
    "numbers_off",
    "valued",
    "transfers",
    "member_coffee",
    "member_yield",
    "member_season",
)


def work_out(con: duckdb.DuckDBPyConnection, settings: Settings) -> None:
    """Work out, from the typed rows and the decisions, everything else that the file holds."""
    money = {"decimals": settings.decimals}
    for table in DERIVED:
        con.execute(f"delete from {table}")
    again = {kind for (kind,) in rows(con, "select distinct kind from sheets where version > 1")}
    for kind in kinds().values():
        if kind.name in again:
            note_succession(con, kind)
    _note_numbers_off(con)
    for kind in kinds().values():
        if kind.name == "weighings":
            # The price list comes before what it prices.
            con.execute(season_sql("valued"), money)
        check_kind(con, kind.name)
    con.execute(season_sql("transfers"), money)
    con.execute(season_sql("member_coffee"))
    con.execute(season_sql("member_yield"))
    con.execute(season_sql("member_season"), money)
    for kind in kinds().values():
        check_season(con, kind.name)
    broken = broken_laws(con)
    if broken:
        raise ConservationError(
            "The book does not add up and was left as it was: " + "; ".join(broken)
        )


def _note_numbers_off(con: duckdb.DuckDBPyConnection) -> None:
    numbers = rows(con, "select distinct member_no from rows_members where member_no is not null")
    off = [[number] for (number,) in numbers if not member_check_ok(number)]
    if off:
        con.executemany("insert into numbers_off values (?)", sorted(off))


def broken_laws(con: duckdb.DuckDBPyConnection) -> list[str]:
    """Return a sentence for each law that the file breaks; none in a sound one."""
    found = rows(con, season_sql("rows_not_conserved")) and ["rows arrived are not all in a state"]
    if rows(con, season_sql("money_not_conserved")):
        found = [*found, "members' statements differ from the ledger"]
    return list(found or [])
