"""An empty season with two kinds of deduction, in memory."""

from collections.abc import Iterator

import duckdb
import pytest

from pipeline.season.tables import connect, create_tables
from pipeline.season.written_settings import write_settings
from pipeline.settings import read_settings
from tests.season.small import SHEETS, TWICE_DEDUCTED


@pytest.fixture
def con() -> Iterator[duckdb.DuckDBPyConnection]:
    with connect(":memory:", read_only=False, macros=True) as connection:
        create_tables(connection)
        write_settings(connection, read_settings(TWICE_DEDUCTED), "2026")
        for kind, sheet_no in SHEETS.items():
            connection.execute(
                "insert into sheets (sheet_no, sha256, name, kind, slot, version, taken_day, "
                "arrived) values (?, ?, ?, ?, ?, 1, date '2026-10-04', 0)",
                [sheet_no, *[kind] * 4],
            )
        yield connection
