"""Members' own records beside what the scale showed: a book's pairs, and what has no partner."""

import json
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from pipeline.book.book import Book, kept_settings
from pipeline.season.generations import current_path
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.season.tables import connect, season_sql
from pipeline.upkeep import whole_file

WHY = {
    "receipt": "receipt number",
    "receipt-member-slip": "receipt number; one slip in the member's number",
    "receipt-coffee-differs": "receipt number; another coffee",
    "receipt-weight-differs": "receipt number; the weight differs",
    "receipt-weight-slip": "receipt number; a slip in the weight",
    "receipt-day-differs": "receipt number; another day",
    "receipt-slip": "member, day and weight; one slip in the receipt number",
    "receipt-and-weight-slip": "member and day; a slip in receipt number and in weight",
    "receipt-slip-weight-differs": "member and day; one slip in the number, the weight differs",
    "member-day-weight": "member, day and weight",
    "member-next-day-weight": "member and weight, one day apart",
    "member-day-weight-slip": "member and day; a slip in the weight",
    "member-day-weight-differs": "member and day, nothing else near; the weight differs",
}
BECAUSE = {
    "cannot-be-told-apart": "cannot be told apart, left to a person",
    "unsure": "nothing near is likely enough",
    "no-candidate": "nothing near",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """A record and the weighed delivery it is taken for; kg, `kg_apart` the record less the scale.

    `standing`: settled, or interchangeable. `independent`: neither copied from the receipt nor
    written by whoever weighed.
    """

    season: str
    standing: str
    why: str
    member_no: str | None
    station: str | None
    day: date | None
    receipt_book: str | None
    receipt_no: int | None
    lines: int
    record_kg: Decimal
    net_kg: Decimal
    kg_apart: Decimal
    pct_apart: Decimal
    days_apart: int | None
    written_from: str | None
    written_by: str | None
    weighed_by: str | None
    independent: bool
    record_sheet: str
    record_row_no: int
    weighed_sheet: str
    weighed_row_no: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Alone:
    """A record or a weighed delivery without a partner; `nearest`: up to three, the nearest first.

    `receipt_unknown`: the station has no weighing of the receipt that the record names.
    """

    season: str
    side: str
    because: str
    member_no: str | None
    station: str | None
    day: date | None
    receipt_book: str | None
    receipt_no: int | None
    kg: Decimal
    written_from: str | None
    receipt_unknown: bool
    sheet: str
    row_no: int
    nearest: list[dict[str, Any]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Matches:
    """All pairs asked for, the furthest apart first, and all rows without a partner."""

    pairs: list[Match]
    alone: list[Alone]


def book_matches(book: Book, *, station: str = "", week: str = "") -> Matches:
    """Return a book's pairs and what has none, of one station and ISO week where they are given.

    SettingsError where the station is none of the book's.
    """
    journal = book.journal()
    settings = kept_settings(journal)
    if station:
        settings.station(station)
    pairs: list[Match] = []
    alone: list[Alone] = []
    asked = {"station": station, "week": week}
    for season in seasons_with_sheets(journal, settings):
        path = current_path(book, season)
        if path is None:
            continue
        with connect(str(whole_file(book, season))) as con:
            found = con.sql(season_sql("all_matches"), params=asked).pl()
            pairs += [Match(season=season, **row) for row in found.iter_rows(named=True)]
            found = con.sql(season_sql("all_unmatched"), params=asked).pl()
            alone += [
                Alone(season=season, nearest=json.loads(nearest), **row)
                for row in found.iter_rows(named=True)
                for nearest in [row.pop("nearest")]
            ]
    return Matches(pairs=pairs, alone=alone)
