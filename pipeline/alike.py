"""Finds the open flags of one rule that can be decided alike."""

from datetime import date

import duckdb
import polars as pl

from pipeline.book.book import Book, kept_settings
from pipeline.intake.kinds import kinds
from pipeline.season.flag_frame import flags_frame
from pipeline.season.generations import current_path
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.season.tables import connect, rows


def alike(book: Book, rule: str, *, station: str = "", day: date | None = None) -> list[str]:
    """Return the numbers of the open flags of a rule, of a station's sheets and of one day.

    SettingsError where the station is none of the book's.
    """
    journal = book.journal()
    settings = kept_settings(journal)
    if station:
        settings.station(station)
    found: dict[str, None] = {}
    for season in seasons_with_sheets(journal, settings):
        path = current_path(book, season)
        if path is None:
            continue
        with connect(str(path)) as con:
            of_rule = flags_frame(con).filter(
                (pl.col("rule") == rule)
                & pl.col("decision").is_null()
                & ((pl.col("station") == station) | pl.lit(not station))
            )
            days = _flag_days(con, of_rule) if day else {}
            for number in of_rule["flag"]:
                if day is None or days.get(number) == day:
                    found[number] = None
    return list(found)


def _flag_days(con: duckdb.DuckDBPyConnection, frame: pl.DataFrame) -> dict[str, date]:
    """Return the civil day of each flag's row, for those whose kind has one."""
    found: dict[str, date] = {}
    for (name,), some in frame.group_by("kind"):
        kind = kinds()[str(name)]
        if kind.day:
            places = {(row["sheet_no"], row["row_no"]): row["flag"] for row in some.to_dicts()}
            text = (
                f"select sheet_no, row_no, {kind.day} from rows_{kind.name} "
                "where sheet_no in (select unnest(?)) and row_no in (select unnest(?))"
            )
            sheets, numbers = some["sheet_no"].to_list(), some["row_no"].to_list()
            for sheet_no, row_no, on in rows(con, text, [sheets, numbers]):
                if (sheet_no, row_no) in places:
                    found[places[sheet_no, row_no]] = on
    return found
