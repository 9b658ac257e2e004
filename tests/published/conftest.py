"""The formulas as the pipeline has them: the real macros in a real DuckDB."""

from collections.abc import Callable, Iterator
from typing import Any

import duckdb
import pytest

from pipeline.book.macros import load_macros


@pytest.fixture(scope="session")
def con() -> Iterator[duckdb.DuckDBPyConnection]:
    with duckdb.connect(":memory:") as connection:
        load_macros(connection)
        yield connection


@pytest.fixture(scope="session")
def ask(con: duckdb.DuckDBPyConnection) -> Callable[..., Any]:
    """Answer of a query that gives one value; its $names come as keyword arguments."""

    def one(query: str, **values: object) -> Any:
        row = con.execute(query, values).fetchone()
        assert row is not None
        return row[0]

    return one
