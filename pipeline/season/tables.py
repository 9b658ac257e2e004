"""Opens a season file and asks it: what every command and page begins with, so it loads little."""

from collections.abc import Iterable
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

import duckdb

from pipeline.book.macros import load_macros

# What DuckDB may hold, in MB, while a season is worked out; what it sorts beyond that goes, for as
# long, to a folder beside the file. Three times as much saved no time at four million rows. The
# whole process then holds less than a gibibyte, or three at ten times the rows.
LEAST_MEMORY = 620
MEMORY_FOR_ALL = 420
MEMORY_A_MILLION = 45


@cache
def season_sql(name: str) -> str:
    """Return the text of one named query of this package."""
    return resources.files("pipeline.season").joinpath(f"sql/{name}.sql").read_text("utf-8")


def connect(
    path: str, *, read_only: bool = True, macros: bool = False, threads: int = 0
) -> duckdb.DuckDBPyConnection:
    """Open a season file; `macros` makes the trade's formulas known to what works it out."""
    con = duckdb.connect(path, read_only=read_only)
    refuse_wrong_sums(con)
    _keep_to_files(con)
    if not read_only:
        con.execute(f"set memory_limit = '{LEAST_MEMORY}MB'")
    if threads:
        con.execute(f"set threads = {int(threads)}")
    if macros:
        load_macros(con)
    return con


def connect_again(con: duckdb.DuckDBPyConnection) -> duckdb.DuckDBPyConnection:
    """Open the file of a connection that works it out once more, for work beside it."""
    other = con.cursor()
    _keep_to_files(other)
    load_macros(other)
    return other


def connect_beside(
    others: Iterable[duckdb.DuckDBPyConnection], path: str
) -> duckdb.DuckDBPyConnection:
    """Open a season file to read; in what has another one open, where any does, which is sooner.

    It is closed for good once that other one is.
    """
    other = next(iter(others), None)
    if other is None:
        return connect(path)
    con = other.cursor()
    _keep_to_files(con)
    name, quoted = f'"{Path(path).name}"', path.replace("'", "''")
    con.execute(f"attach if not exists '{quoted}' as {name} (read_only)")
    con.execute(f"use {name}")
    return con


def _keep_to_files(con: duckdb.DuckDBPyConnection) -> None:
    # A Python variable must never stand for a table that is missing.
    con.execute("set python_enable_replacements = false")
    con.execute("set enable_progress_bar = false")


def give_memory(con: duckdb.DuckDBPyConnection, arrived: int) -> None:
    """Let a connection hold what working out a season of so many rows takes."""
    needed = MEMORY_FOR_ALL + MEMORY_A_MILLION * arrived // 10**6
    con.execute(f"set memory_limit = '{max(LEAST_MEMORY, needed)}MB'")


def dicts(
    con: duckdb.DuckDBPyConnection, query: str, parameters: Any = None
) -> list[dict[str, Any]]:
    """Return a query's rows with the names of their columns."""
    cursor = con.execute(query, parameters)
    names = [str(column[0]) for column in cursor.description or ()]
    return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]


def refuse_wrong_sums(con: duckdb.DuckDBPyConnection) -> None:
    """Keep DuckDB from working with wrong bounds of sums; every connection that adds up needs it.

    DuckDB 2.0.1 takes coalesce(sum(x), 0) for no larger than the largest single x: a filter on it
    then drops rows, and a join gives 60 000 back as 96. tests/season holds the smallest case.
    """
    con.execute("set disabled_optimizers = 'statistics_propagation'")


def rows(con: duckdb.DuckDBPyConnection, text: str, params: object = None) -> list[tuple[Any, ...]]:
    """Run a query and return its rows."""
    return con.execute(text, params).fetchall()
