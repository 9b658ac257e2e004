"""An empty season with two kinds of deduction, in memory."""

from collections.abc import Iterator

import duckdb
import pytest

from tests.season.small import empty_season


@pytest.fixture
def con() -> Iterator[duckdb.DuckDBPyConnection]:
    with empty_season() as connection:
        yield connection
