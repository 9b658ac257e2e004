"""Lets queries see some rows of what they read, as they stand."""

from collections.abc import Generator, Iterable
from contextlib import contextmanager

import duckdb

from checks.views import in_place
from pipeline.intake.kinds import kinds
from pipeline.intake.live import live_rows
from pipeline.season.tables import rows


@contextmanager
def only(con: duckdb.DuckDBPyConnection, names: Iterable[str], which: str) -> Generator[None]:
    """Let tables and views show, for as long, only the rows that a condition picks.

    `which`: SQL over the columns that they have in common. Views of the file still see all rows.
    """
    ((file,),) = rows(con, "select current_database()")
    shown = {name: f'select * from "{file}".main.{name} where {which}' for name in names}
    with in_place(con, shown):
        yield


@contextmanager
def only_touched(con: duckdb.DuckDBPyConnection, kind: str) -> Generator[None]:
    """Let the live rows of a kind show, for as long, only those that are touched."""
    rows_touched = (
        f"(select r.* from rows_{kind} as r inner join ("
        f"select distinct sheet_no, row_no from touched where kind = '{kind}'"
        ") as t on t.sheet_no = r.sheet_no and t.row_no = r.row_no)"
    )
    with in_place(con, {f"live_{kind}": live_rows(kinds()[kind], rows_touched)}):
        yield
