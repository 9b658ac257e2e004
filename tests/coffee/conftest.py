"""An empty season in memory, for cards put straight into its tables."""

from collections.abc import Iterator

import duckdb
import pytest

from tests.coffee.cards import season


@pytest.fixture
def con() -> Iterator[duckdb.DuckDBPyConnection]:
    with season() as connection:
        yield connection
