"""Small seasons, a cooperative and a key for tests of what is printed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import duckdb
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from pipeline.season.tables import connect
from reports.facts import CoopFacts
from reports.statement import dated, statement_models
from tests.reports.seasons import (
    FACTS,
    GATE,
    HARD_NAMES,
    KEY,
    Maker,
    explain,
    make_group_season,
    make_small_season,
)


@pytest.fixture(scope="session")
def small_season() -> duckdb.DuckDBPyConnection:
    return make_small_season()


@pytest.fixture(scope="session")
def group_season() -> duckdb.DuckDBPyConnection:
    return make_group_season()


@pytest.fixture
def maker() -> Maker:
    """An empty season to be filled by the test; `finish` sums it up."""
    return Maker(connect(":memory:", read_only=False))


@pytest.fixture(scope="session")
def key() -> Ed25519PrivateKey:
    return KEY


@pytest.fixture(scope="session")
def facts() -> CoopFacts:
    return FACTS


@pytest.fixture(scope="session")
def hard_names() -> dict[str, str]:
    return HARD_NAMES


@pytest.fixture(scope="session")
def say_flag() -> Callable[[dict[str, object], str], str]:
    return explain


@pytest.fixture(scope="session")
def gate() -> list[dict[str, object]]:
    return GATE


@pytest.fixture(scope="session")
def models(small_season: duckdb.DuckDBPyConnection) -> dict[str, dict[str, Any]]:
    """The dated view models of the small season, by member."""
    day = dt.date(2026, 10, 12)
    return {
        model["member"]["no"]: dated(model, FACTS, day=day, version=1, sign=KEY.sign)
        for model in statement_models(small_season, FACTS, explain=explain)
    }
