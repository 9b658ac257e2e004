"""Loads the trade's formulas (sql/macros.sql) into a DuckDB connection."""

from functools import cache
from importlib.resources import files

import duckdb


@cache
def _macros_sql() -> str:
    return files("pipeline.book").joinpath("sql/macros.sql").read_text(encoding="utf-8")


def load_macros(con: duckdb.DuckDBPyConnection) -> None:
    """Make the macros known to `con`, also where its file is opened read-only.

    Temporary macros belong to one connection: a `cursor()` has to load them for itself.
    """
    con.execute(_macros_sql())
