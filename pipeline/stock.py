"""The coffee balance and the lots of a season, as plain rows for commands and reports."""

from typing import Any

from pipeline.book.book import Book, kept_settings
from pipeline.errors import BookError
from pipeline.season.coffee_sheets import coffee_weeks, whole_season
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.season.tables import connect, dicts, season_sql
from pipeline.upkeep import whole_file

Rows = list[dict[str, Any]]


def season_of(book: Book, season: str | None, *, station: str = "") -> str:
    """Return the season asked for, or the latest that any sheet speaks for.

    SettingsError where there is no such season, or no such station where one is named.
    """
    journal = book.journal()
    settings = kept_settings(journal)
    if station:
        settings.station(station)
    return settings.season(season).code if season else seasons_with_sheets(journal, settings)[-1]


def balance_sheets(book: Book, *, season: str | None, station: str, week: str) -> Rows:
    """Return the balance sheets of a season or one week of it; BookError names the weeks."""
    path = whole_file(book, season_of(book, season, station=station))
    with connect(str(path), macros=True) as con:
        weeks = coffee_weeks(con, station)
    if week:
        there = sorted({row["week"] for row in weeks})
        if week not in there:
            span = f"They run from {there[0]} to {there[-1]}." if there else "There are none."
            raise BookError(f"No coffee is on the books for week {week!r}. {span}")
        return [row for row in weeks if row["week"] == week]
    return whole_season(weeks)


def lots(book: Book, *, season: str | None) -> Rows:
    """Return every lot of a season: what went in, what became of it, what is still there."""
    with connect(str(whole_file(book, season_of(book, season))), macros=True) as con:
        return dicts(con, season_sql("lots_season"), {"lot": ""})


def lot(book: Book, number: str, *, season: str | None) -> dict[str, Any]:
    """Return one lot with its steps and the members whose coffee is in it; BookError if unknown."""
    with connect(str(whole_file(book, season_of(book, season))), macros=True) as con:
        found = dicts(con, season_sql("lots_season"), {"lot": number.upper()})
        if not found:
            known = [row["lot_no"] for row in dicts(con, season_sql("lots_season"), {"lot": ""})]
            some = f"There are: {', '.join(known[:12])}." if known else "There are no lots."
            raise BookError(f"There is no lot {number!r}. {some}")
        steps = dicts(con, season_sql("lot_card"), {"lot": number.upper()})
        members = dicts(con, season_sql("lot_members"), {"lot": number.upper()})
    return {"lot": found[0], "steps": steps, "members": members}
