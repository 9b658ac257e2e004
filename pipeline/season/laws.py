"""The laws of conservation: asked of a whole season file, or of what a change touched alone."""

from collections.abc import Mapping, Sequence

import duckdb

from checks.views import in_place
from pipeline.season.schema import stored_rows
from pipeline.season.tables import rows, season_sql


def broken_laws(
    con: duckdb.DuckDBPyConnection, *, coffee: bool = True, sums: bool = False
) -> list[str]:
    """Return a sentence for each law that the file breaks; none in a sound one.

    `coffee`: also those of coffee, which hold once it has been followed. `sums`: of money, only
    sums over everybody are compared; what is asked of single weighings and of farm records was
    asked of all whose money may have changed since it held.
    """
    found = broken_laws_of_rows(con) + broken_laws_of_money(con, sums=sums)
    if coffee and (off := rows(con, season_sql("coffee_not_conserved"))):
        what = "; ".join(f"{law}: {one} g against {other} g" for law, one, other in off[:3])
        found.append(f"coffee is not all somewhere ({what})")
    return found


def broken_laws_of_rows(
    con: duckdb.DuckDBPyConnection, of: Mapping[str, Sequence[int]] | None = None
) -> list[str]:
    """Return a sentence where rows are not each in one state; `of`: some sheets of each kind."""
    text = season_sql("rows_not_conserved")
    if of is None:
        off = rows(con, text, {"sheets": None})
    elif of:
        with in_place(con, {"stored_rows": stored_rows(of)}):
            off = rows(con, text, {"sheets": [no for some in of.values() for no in some]})
    else:
        off = []
    return ["rows arrived are not all in a state"] if off else []


def broken_laws_of_money(con: duckdb.DuckDBPyConnection, *, sums: bool = False) -> list[str]:
    """Return a sentence for each law of money that is broken; `sums`: as for `broken_laws`."""
    found: list[str] = []
    if rows(con, season_sql("money_not_conserved")):
        found.append("members' statements differ from the ledger")
    if not sums and rows(con, season_sql("costs_not_conserved")):
        found.append("members' statements differ from their farm records")
    if not sums and rows(con, season_sql("more_taken_than_brought")):
        found.append("more is taken of a weighing than it brought")
    return found
