"""The trade's formulas (sql/macros.sql) in a season file, and in a connection to one without."""

import hashlib
from functools import cache
from importlib.resources import files

import duckdb


@cache
def _macros_sql() -> str:
    return files("pipeline.book").joinpath("sql/macros.sql").read_text(encoding="utf-8")


@cache
def _hash() -> str:
    return hashlib.sha256(_macros_sql().encode()).hexdigest()


def keep_macros(con: duckdb.DuckDBPyConnection) -> None:
    """Put the macros into the file that is open, so that nobody who opens it has to load them."""
    con.execute(_macros_sql().replace("create or replace temp macro", "create or replace macro"))
    con.execute(f"create or replace macro macros_hash() as '{_hash()}'")


def load_macros(con: duckdb.DuckDBPyConnection) -> None:
    """Make the macros known to `con`, also where its file is opened read-only.

    Those of the file are taken where they are these very ones: to read them all takes longer than
    most queries. Temporary ones belong to one connection: a `cursor()` has to load them for itself.
    """
    try:
        held = con.execute("select macros_hash()").fetchall()[0][0]
    except duckdb.CatalogException:
        held = ""
    if held != _hash():
        con.execute(_macros_sql())
        con.execute(f"create or replace temp macro macros_hash() as '{_hash()}'")
