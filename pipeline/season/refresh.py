"""Brings a season file up to the journal: sheets first, then all that follows from them."""

from pathlib import Path

import duckdb

from checks.engine import (
    check_coffee,
    check_kind,
    check_season,
    decided_about_coffee,
    forget_coffee,
)
from checks.limits import write_limits
from pipeline.book.book import Book, kept_settings
from pipeline.book.decisions import concerned, needs_all_anew, taken_back
from pipeline.book.journal import Journal, Line
from pipeline.coffee.events import Row
from pipeline.declared import LimitSetting
from pipeline.errors import ConservationError
from pipeline.intake.kept import Reader
from pipeline.intake.kinds import kinds
from pipeline.numbers import member_check_ok
from pipeline.season.amend import apply_amendments, note_decisions, take_back
from pipeline.season.coffee import FOLLOWED, work_out_coffee
from pipeline.season.generations import SCHEMA_NO, current_path, publish, working_copy
from pipeline.season.insert import insert_sheets
from pipeline.season.kept_sheets import KeptSheet, standing_sheets
from pipeline.season.match import match_season
from pipeline.season.tables import (
    connect,
    create_tables,
    makings_hash,
    note_succession,
    rows,
    season_sql,
)
from pipeline.settings import Settings

ANEW, BEHIND, UP_TO_DATE = "anew", "behind", "up to date"


def concerns(line: Line, season: str) -> bool:
    """Tell whether a journal line changes what a season file holds."""
    if line.what == "taken":
        return any(
            one["season"] in ("", season)
            for entry in line.body["sheets"]
            for one in (entry, *entry.get("instead_of", ()))
        )
    return line.what == "settings" or concerned(line, season)


def refresh(
    book: Book,
    journal: Journal,
    season: str,
    *,
    reader: Reader | None = None,
    fresh: bool,
    threads: int = 0,
) -> Path:
    """Write the next generation of a season file, with every journal line applied.

    `fresh`: make it anew instead of going on from the current one, as `standing` tells.
    `reader`: holds what was just read, so that a sheet just taken is not read twice.
    A crash at any point leaves the file before this one current. ConservationError where the rows
    do not add up; then nothing is published.
    """
    settings = kept_settings(journal)
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


def standing(book: Book, journal: Journal, season: str) -> str:
    """Tell how a season's file stands to the journal: ANEW, BEHIND or UP_TO_DATE.

    It is to be made anew where there is none, or where another schema, other settings or other
    rules made it.
    """
    path = current_path(book, season)
    if path is None:
        return ANEW
    with connect(str(path)) as con:
        *made_by, done = rows(
            con, "select schema_no, settings_hash, makings_hash, journal_n from file_facts"
        )[0]
    if made_by != [SCHEMA_NO, kept_settings(journal).hash, makings_hash()]:
        return ANEW
    behind = [line for line in journal.lines[done:] if concerns(line, season)]
    if any(needs_all_anew(line) for line in behind):
        return ANEW
    return BEHIND if behind else UP_TO_DATE


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
    for meter in settings.meters:
        con.execute(
            "insert into meters values (?, ?, ?)", [meter.code, meter.station, meter.method]
        )
    days = settings.season(season)
    con.execute("insert into season_days values (?, ?)", [days.first_day, days.last_day])
    write_limits(
        con,
        (*_of_meters(settings), *settings.limits),
        [station.code for station in settings.stations],
    )


def _of_meters(settings: Settings) -> list[LimitSetting]:
    """Return how far off each station's meter may read, as limits of that station."""
    return [
        LimitSetting(name=name, value=value, station=meter.station, because=f"meter {meter.code}")
        for meter in settings.meters
        for name, value in (
            ("meter_tolerance", meter.tolerance_pct),
            ("meter_tolerance_least", meter.tolerance_points),
        )
        if value is not None
    ]


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
    gone = taken_back(journal)
    waiting: list[KeptSheet] = []
    for line in journal.lines[done:]:
        if line.what == "taken":
            waiting += by_line.get(line.n, [])
        elif concerned(line, season):
            insert_sheets(con, book, settings, waiting, reader)
            waiting = []
            if line.what == "taken-back":
                take_back(con, line)
            note_decisions(con, line, season, gone)
            apply_amendments(con, line, season, gone, settings)
    insert_sheets(con, book, settings, waiting, reader)


def _take_away_answered(con: duckdb.DuckDBPyConnection, journal: Journal) -> None:
    """Take sheets away that were kept unread and have been read since, under another number."""
    standing = {sheet.sheet_no for sheet in standing_sheets(journal)}
    gone = [no for (no,) in rows(con, "select sheet_no from sheets") if no not in standing]
    if gone:
        con.execute("delete from sheets where list_contains(?, sheet_no)", [gone])


# The tables that `work_out` empties and fills; following the coffee empties its own.
DERIVED = (
    "succession",
    "exceptions",
    "flags",
    "numbers_off",
    "lot_steps",
    "green_basis",
    "matched",
    "unmatched",
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
            # What values coffee comes before it: the price list, and the outturn of the lots.
            if settings.basis.green == "measured":
                con.execute(season_sql("lot_steps"))
            con.execute(season_sql("green_basis"), _basis(settings))
            con.execute(season_sql("valued"), money)
        if kind.name == "deliveries":
            # Weighings have their states by now; what differs in a pair is for the rules to say.
            match_season(con)
        check_kind(con, kind.name)
    _follow_coffee(con)
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


def _basis(settings: Settings) -> dict[str, object]:
    return {
        "measured": settings.basis.green == "measured",
        "least_g": int(settings.basis.least_kg * 1000),
    }


def _follow_coffee(con: duckdb.DuckDBPyConnection) -> None:
    """Follow the coffee until what was decided about rows that were set aside is all applied."""
    forced: set[Row] = set()
    without: set[Row] = set()
    while True:
        work_out_coffee(con, forced)
        for kind in FOLLOWED:
            check_coffee(con, kind)
        counted = decided_about_coffee(con, "count")
        left_out = decided_about_coffee(con, "leave-out")
        if counted <= forced and left_out <= without:
            return
        forced |= counted
        without |= left_out
        forget_coffee(con)


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
    if off := rows(con, season_sql("coffee_not_conserved")):
        what = "; ".join(f"{law}: {one} g against {other} g" for law, one, other in off[:3])
        found.append(f"coffee is not all somewhere ({what})")
    return found
