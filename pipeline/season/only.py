"""Lets queries see some rows of what they read, as they stand."""

from collections.abc import Generator, Iterable
from contextlib import contextmanager

import duckdb

from checks.views import in_place
from pipeline.intake.kinds import kinds
from pipeline.intake.live import live_rows, stated_rows
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
    """Let the rows of a kind, and the live ones, show for as long only those that are touched."""
    touched = f"(select distinct sheet_no, row_no from touched where kind = '{kind}')"
    with only_joined(con, [kind], touched, "few.sheet_no = r.sheet_no and few.row_no = r.row_no"):
        yield


@contextmanager
def only_joined(
    con: duckdb.DuckDBPyConnection, names: Iterable[str], few: str, on: str, which: str = "true"
) -> Generator[None]:
    """Let rows of kinds show for as long, live and with their states, only what a join leaves.

    `few`: SQL of what the rows, `r`, are joined with `on` a condition, at most once each; `which`:
    SQL that they have to hold as well. States and keys are then looked for of these rows alone.
    """
    ((file,),) = rows(con, "select current_database()")
    shown: dict[str, str] = {}
    for kind in names:
        own = f'"{file}".main.rows_{kind}'
        among = f"(select r.* from {own} as r inner join {few} as few on {on} where {which})"
        shown |= {
            f"rows_{kind}": f"from {among}",
            kind: stated_rows(kind, among),
            f"live_{kind}": live_rows(kinds()[kind], among),
        }
    with in_place(con, shown):
        yield
