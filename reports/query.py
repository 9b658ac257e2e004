"""Runs the named SQL files of this package."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Any

import duckdb

from pipeline.season.tables import dicts
from reports.facts import Row


@cache
def sql_text(name: str) -> str:
    """The text of `sql/<name>.sql`."""
    return files("reports").joinpath("sql", f"{name}.sql").read_text(encoding="utf-8")


def rows(con: duckdb.DuckDBPyConnection, name: str, **params: Any) -> list[Row]:
    """All rows of a named query, as dicts, in the order the query gives them."""
    return dicts(con, sql_text(name), params or None)


def one(con: duckdb.DuckDBPyConnection, name: str, **params: Any) -> Row:
    """The single row of a named query; ValueError if there is not exactly one."""
    (row,) = rows(con, name, **params)
    return row


def by_member(
    con: duckdb.DuckDBPyConnection, name: str, members: list[str], **params: Any
) -> dict[str, list[Row]]:
    """Rows of a named query for many members at once, gathered by `member_no`."""
    gathered: dict[str, list[Row]] = {}
    for row in rows(con, name, members=members, **params):
        gathered.setdefault(row["member_no"], []).append(row)
    return gathered
