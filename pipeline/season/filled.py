"""The tables of kinds' rows: each holds the columns that some row fills, a view shows all of them.

Half of a kind's columns are filled by no sheet of a season, and DuckDB takes as long to store a
column without a value as one of numbers.
"""

from collections.abc import Iterable
from functools import cache

import duckdb

from pipeline.intake.kinds import Column, Kind, kinds
from pipeline.intake.stored import sql_type
from pipeline.season.tables import rows

PLACE = ("sheet_no", "row_no")


def table_of(kind: Kind) -> str:
    """Return the table that rows of a kind are written to; they are read from `rows_<kind>`."""
    return f"filled_{kind.name}"


def make_table(con: duckdb.DuckDBPyConnection, kind: Kind) -> None:
    """Make the table of a kind's rows and the view that shows them, before there is a row."""
    con.execute(f"create table {table_of(kind)} ({' integer, '.join(PLACE)} integer)")
    _show(con, kind, PLACE)


def hold(
    con: duckdb.DuckDBPyConnection, kind: Kind, names: Iterable[str] | None = None
) -> list[str]:
    """Let the table of a kind hold columns, all where none are named; return all that it holds.

    `names`: as columns are stored. The result is in the order of the table.
    """
    held = [name for (name, *_) in rows(con, f"describe {table_of(kind)}")]
    wanted = {column.stored for column in kind.columns} if names is None else {*names}
    new = [c for c in kind.columns if c.stored in wanted and c.stored not in held]
    for column in new:
        con.execute(f"alter table {table_of(kind)} add column {_stored(column)}")
    held += [column.stored for column in new]
    if new:
        _show(con, kind, held)
    return held


def _stored(column: Column) -> str:
    """Return the SQL of a column and how its values are written."""
    # DuckDB 2.0.1 takes twice as long to compress text that is hardly ever the same as to write it.
    as_it_is = " using compression uncompressed" if column.name in _names_rows() else ""
    return f"{column.stored} {sql_type(column)}{as_it_is}"


@cache
def _names_rows() -> frozenset[str]:
    """Return the columns that alone name the rows of some kind: as many values as there are."""
    return frozenset(kind.key[0] for kind in kinds().values() if len(kind.key) == 1)


def hold_all(con: duckdb.DuckDBPyConnection) -> None:
    """Let the tables of all kinds hold all columns, for SQL that writes rows of its own."""
    for kind in kinds().values():
        hold(con, kind)


def _show(con: duckdb.DuckDBPyConnection, kind: Kind, held: Iterable[str]) -> None:
    empty = {c.stored: f"cast(null as {sql_type(c)}) as {c.stored}" for c in kind.columns}
    shown = dict.fromkeys(PLACE, "") | empty | {name: name for name in held}
    con.execute(
        f"create or replace view rows_{kind.name} as "
        f"select {', '.join(shown.values())} from {table_of(kind)}"
    )
