"""Seasons in memory: an empty one with two kinds of deduction, and one of farms."""

from collections.abc import Iterator

import duckdb
import pytest

from tests.season.farms import farm_season
from tests.season.small import empty_season


@pytest.fixture
def con() -> Iterator[duckdb.DuckDBPyConnection]:
    with empty_season() as connection:
        yield connection


@pytest.fixture(scope="module")
def farms() -> Iterator[duckdb.DuckDBPyConnection]:
    with farm_season() as made:
        yield made
