"""Lets queries see some rows of what they read, as they stand."""

from collections.abc import Generator, Iterable
from contextlib import contextmanager

import duckdb

from pipeline.season.tables import rows


@contextmanager
def only(con: duckdb.DuckDBPyConnection, names: Iterable[str], which: str) -> Generator[None]:
    """Let tables and views show, for as long, only the rows that a condition picks.

    `which`: SQL over the columns that they have in common. Views of the file still see all rows.
    """
    ((file,),) = rows(con, "select current_database()")
    shown = sorted({*names})
    for name in shown:
        con.execute(f'create temp view {name} as select * from "{file}".main.{name} where {which}')
    try:
        yield
    finally:
        for name in shown:
            con.execute(f"drop view temp.{name}")
