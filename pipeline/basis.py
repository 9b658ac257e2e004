"""Puts the season's weights on one basis: net, at standard moisture, as green bean equivalent."""

from typing import Any

from pipeline.book.book import Book
from pipeline.season.tables import connect, dicts, season_sql
from pipeline.stock import season_of
from pipeline.upkeep import whole_file

Rows = list[dict[str, Any]]


def weights(book: Book, *, season: str | None, station: str) -> dict[str, Rows]:
    """Return the season's counted weights on each basis, and what each basis rests on.

    `weights`: one row per station, species and form, kilograms; `standard_kg` of the lines with a
    moisture reading, `unread_kg` without one. `green`: kilograms a kilogram of green and by what.
    `meters`: the method each station measures moisture by.
    """
    path = whole_file(book, season_of(book, season, station=station))
    with connect(str(path), macros=True) as con:
        return {
            "weights": dicts(con, season_sql("weights"), {"station": station}),
            "green": dicts(con, season_sql("green_in_force")),
            "meters": dicts(con, season_sql("meters_declared")),
        }
