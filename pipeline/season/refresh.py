"""Brings a season file up to the journal: sheets into typed rows, then all that follows."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import duckdb
import polars as pl

from checks.engine import check_kind, check_season
from checks.limits import write_limits
from pipeline.book.book import Book, kept_settings
from pipeline.book.journal import Journal, Line
from pipeline.errors import ConservationError
from pipeline.intake.kinds import Kind, kinds
from pipeline.intake.read import Cells, read_cells
from pipeline.intake.recognise import match_headings, missing_columns, named_week
from pipeline.intake.settle import Front
from pipeline.intake.type_sheets import type_sheets
from pipeline.numbers import member_check_ok
from pipeline.season.amend import apply_amendment, carry_amendments, note_decision
from pipeline.season.generations import SCHEMA_NO, current_path, publish, working_copy
from pipeline.season.tables import (
    connect,
    create_tables,
    makings_hash,
    note_succession,
    rows,
    season_sql,
)
from pipeline.settings import Settings


@dataclass(frozen=True, slots=True)
class KeptSheet:
    """A sheet of the journal with its number, counted over the whole book from 1."""

    sheet_no: int
    line_n: int
    day: str
    entry: Mapping[str, Any]


def kept_sheets(journal: Journal) -> list[KeptSheet]:
    """Return every sheet the journal holds, in the order in which they were taken."""
    found: list[KeptSheet] = []
    for line in journal.lines:
        if line.what == "taken":
            for entry in line.body["sheets"]:
                found.append(KeptSheet(len(found) + 1, line.n, line.body["day"], entry))
    return found


def concerns(line: Line, season: str) -> bool:
    """Tell whether a journal line changes what a season file holds."""
    if line.what == "taken":
        return any(entry["season"] in ("", season) for entry in line.body["sheets"])
    if line.what == "decided":
        return line.body["season"] in ("", season)
    return line.what == "settings"


def refresh(
    book: Book,
    journal: Journal,
    season: str,
    *,
    read: Mapping[str, Cells] | None = None,
    fresh: bool = False,
    threads: int = 0,
) -> Path:
    """Write the next generation of a season file, with every journal line applied.

    `read`: cells already read, by SHA-256, so that a sheet just taken is not read twice.
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
        _apply(con, book, journal, settings, season, done, read or {})
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
    read: Mapping[str, Cells],
) -> None:
    """Apply the lines after number `done`: runs of sheets in one go, decisions in their order."""
    by_line: dict[int, list[KeptSheet]] = {}
    for sheet in kept_sheets(journal):
        if sheet.entry["season"] in ("", season):
            by_line.setdefault(sheet.line_n, []).append(sheet)
    waiting: list[KeptSheet] = []
    for line in journal.lines[done:]:
        if line.what == "taken":
            waiting += by_line.get(line.n, [])
        elif line.what == "decided" and line.body["season"] in ("", season):
            _insert(con, book, settings, waiting, read)
            waiting = []
            note_decision(con, line)
            apply_amendment(con, line, settings)
    _insert(con, book, settings, waiting, read)


def _insert(
    con: duckdb.DuckDBPyConnection,
    book: Book,
    settings: Settings,
    sheets: Sequence[KeptSheet],
    read: Mapping[str, Cells],
) -> None:
    """Insert the rows of many sheets, one statement a kind."""
    frames: dict[str, list[pl.DataFrame]] = {}
    absent: list[tuple[int, str, int]] = []
    cells_of: dict[int, Cells] = {}
    fronts: dict[int, Front] = {}
    for sheet in sheets:
        if not sheet.entry["kind"]:
            continue
        sha256 = sheet.entry["sha256"]
        cells = read[sha256] if sha256 in read else read_cells(book.sheet(sha256))
        cells_of[sheet.sheet_no] = cells
        kind = kinds()[sheet.entry["kind"]]
        places = match_headings(kind, cells.headings)
        absent += [
            (sheet.sheet_no, column.name, cells.header_row)
            for column in kind.columns
            if column.required and column.name not in places
        ]
        fronts[sheet.sheet_no] = front_of(sheet.entry["name"], cells, places)
        frames.setdefault(kind.name, []).append(text_frame(kind, cells, sheet.sheet_no))
    _note_sheets(con, sheets, cells_of)
    for name, found in frames.items():
        kind = kinds()[name]
        text = pl.concat(found)
        own = {no: fronts[no] for no in text["sheet_no"].unique()}
        typed = type_sheets(kind, text, own, settings)
        missing = pl.DataFrame(
            [(no, col) for no, col, _ in absent],
            schema={"sheet_no": pl.Int32, "col": pl.String},
            orient="row",
        )
        # A heading that is missing is said once, not again in every row.
        unreadable = typed.unreadable.join(missing, on=["sheet_no", "col"], how="anti")
        con.register("typed_rows", _arrow(typed.rows))
        # They come sheet after sheet and row after row already: sorting again takes its time.
        con.execute(f"insert into rows_{name} select * from typed_rows")
        con.register("unreadable_cells", _arrow(unreadable))
        con.execute("insert into unreadable select * from unreadable_cells")
        con.unregister("typed_rows")
        con.unregister("unreadable_cells")
        carry_amendments(con, kind, settings)
    by_no = {sheet.sheet_no: sheet for sheet in sheets}
    for sheet_no, column, header_row in absent:
        con.execute(
            "insert into unreadable values (?, ?, ?, ?, null, 'no-such-column')",
            [by_no[sheet_no].entry["kind"], sheet_no, header_row, column],
        )


def _arrow(frame: pl.DataFrame) -> Any:
    # polars gives Arrow tables no type.
    return frame.to_arrow()  # pyright: ignore[reportUnknownVariableType]


def front_of(name: str, cells: Cells, places: Mapping[str, int]) -> Front:
    """Return what a sheet says outside its cells: headings, left to right, and its name's week."""
    ordered = sorted(places.items(), key=lambda item: item[1])
    return Front({column: cells.headings[place] for column, place in ordered}, named_week(name))


def text_frame(kind: Kind, cells: Cells, sheet_no: int) -> pl.DataFrame:
    """Return a sheet's cells as text under the kind's column names; no heading gives null."""
    places = match_headings(kind, cells.headings)
    return cells.frame.select(
        pl.lit(sheet_no, pl.Int32).alias("sheet_no"),
        "row_no",
        *(
            pl.col(f"c{places[column.name]}").alias(column.name)
            if column.name in places
            else pl.lit(None, pl.String).alias(column.name)
            for column in kind.columns
        ),
        "beyond",
    )


def _note_sheets(
    con: duckdb.DuckDBPyConnection, sheets: Sequence[KeptSheet], read: Mapping[int, Cells]
) -> None:
    """Note the sheets themselves, each as the next version of its slot."""
    versions = dict(
        rows(con, "select slot, count(*) from sheets where slot is not null group by slot")
    )
    noted: list[list[Any]] = []
    for sheet in sheets:
        entry, cells = sheet.entry, read.get(sheet.sheet_no)
        slot = entry["slot"] or None
        versions[slot] = versions.get(slot, 0) + 1 if slot else 1
        headings: dict[str, str] = {}
        problem = entry["problem"]
        if cells is not None:
            kind = kinds()[entry["kind"]]
            places = match_headings(kind, cells.headings)
            headings = {name: cells.headings[place] for name, place in places.items()}
            lacking = missing_columns(kind, places)
            problem = f"missing-column: {', '.join(lacking)}" if lacking else None
        noted.append(
            [
                sheet.sheet_no,
                *(entry[key] or None for key in ("sha256", "name", "kind")),
                *(entry[key] or None for key in ("station", "week", "recorder")),
                slot,
                versions[slot],
                sheet.day,
                entry["arrived"],
                cells.reader if cells else None,
                json.dumps(headings, ensure_ascii=False),
                problem,
            ]
        )
    if noted:
        con.executemany(f"insert into sheets values ({', '.join('?' * 14)})", noted)


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
    found: list[str] = []
    if rows(con, season_sql("rows_not_conserved")):
        found.append("rows arrived are not all in a state")
    if rows(con, season_sql("money_not_conserved")):
        found.append("members' statements differ from the ledger")
    return found
