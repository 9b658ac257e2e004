"""The members of a season as one frame, for everything that is said of groups."""

from functools import cache
from importlib import resources
from typing import Any

import duckdb
import polars as pl

from pipeline.season.tables import dicts

GROUPED_BY = ("village", "station", "species", "certificate", "size_class")


@cache
def yields_sql(name: str) -> str:
    """Return the text of one named query of this package."""
    return resources.files("pipeline.yields").joinpath(f"sql/{name}.sql").read_text("utf-8")


def frame(con: duckdb.DuckDBPyConnection, name: str, **params: Any) -> pl.DataFrame:
    """Return a named query's rows as a frame, in the order the query gives them."""
    return con.sql(yields_sql(name), params=params or None).pl()


def rows_of(con: duckdb.DuckDBPyConnection, name: str, **params: Any) -> list[dict[str, Any]]:
    """Return a named query's rows as dicts."""
    return dicts(con, yields_sql(name), params or None)


def people(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Return one row a member and species, as `sql/people.sql` says."""
    return frame(con, "people")
