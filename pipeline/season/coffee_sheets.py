"""The balance sheet of coffee by station and form: week by week, and the season as a whole."""

from typing import Any

import duckdb

from pipeline.book.macros import load_macros
from pipeline.season.tables import dicts, season_sql

# What comes and goes in a balance sheet, in the order it is printed; opening and closing around it.
LINES = (
    "brought_on", "bought", "returned", "moved", "processed", "water", "parts", "sorted",
    "handling", "sold", "loss", "gain", "uncarded",
)  # fmt: skip
Rows = list[dict[str, Any]]


def coffee_weeks(con: duckdb.DuckDBPyConnection, station: str = "") -> Rows:
    """Return the balance sheet of coffee week by week: kilograms by station, species and form."""
    load_macros(con)
    return dicts(con, season_sql("coffee_balance"), {"station": station})


def whole_season(weeks: Rows) -> Rows:
    """Return weeks of a balance sheet as one: first opening, all that moved, last closing."""
    found: dict[tuple[str, str, str], dict[str, Any]] = {}
    for week in weeks:
        place = (week["station"], week["species"], week["form"])
        if place not in found:
            found[place] = dict(week)
            continue
        for line in LINES:
            found[place][f"{line}_kg"] += week[f"{line}_kg"]
        found[place]["closing_kg"] = week["closing_kg"]
    return list(found.values())
