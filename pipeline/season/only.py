"""Lets queries see some rows of what they read, as they stand."""

from collections.abc import Generator, Iterable
from contextlib import contextmanager

import duckdb

from checks.views import in_place
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
