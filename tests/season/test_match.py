"""Members' records beside weighings: every reason for a pair, and what is left without one."""

import json
from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import duckdb
import pytest

from pipeline.matches import BECAUSE, WHY
from pipeline.season.filled import hold_all
from pipeline.season.match import match_season
from pipeline.season.schema import create_tables
from pipeline.season.tables import connect, rows, season_sql
from pipeline.season.written_settings import write_settings
from pipeline.settings import read_settings
from tests.take.small import SETTINGS

DAY = date(2026, 5, 4)
ASHA, OTHER = "10019", "10028"
WEIGHED = {
    "station": "KES", "day": DAY, "receipt_book": "K01", "receipt_no": 101, "line": 1,
    "member_no": ASHA, "species": "arabica", "form": "parchment", "net_kg": "60.0",
    "recorder": "Lio Tessan",
}  # fmt: skip
WROTE = {
    "station": "KES", "day": DAY, "receipt_book": "K01", "receipt_no": 101,
    "member_no": ASHA, "species": "arabica", "form": "parchment", "kg": "60.0",
    "written_from": "own_notebook", "recorder": "Asha Doreme",
}  # fmt: skip
NO_NUMBER: dict[str, Any] = {"receipt_book": None, "receipt_no": None}
NEXT_DAY = DAY + timedelta(days=1)
WEIGHINGS, DELIVERIES = 1, 2


@pytest.fixture
def con() -> Iterator[duckdb.DuckDBPyConnection]:
    with connect(":memory:", read_only=False, macros=True) as connection:
        create_tables(connection)
        hold_all(connection)
        write_settings(connection, read_settings(SETTINGS), "2026")
        for sheet_no, kind in ((WEIGHINGS, "weighings"), (DELIVERIES, "deliveries")):
            connection.execute(
                "insert into sheets (sheet_no, sha256, name, kind, slot, version, taken_day, "
                "arrived) values (?, ?, ?, ?, ?, 1, date '2026-10-04', 0)",
                [sheet_no, *[kind] * 4],
            )
        yield connection


def _put(con: duckdb.DuckDBPyConnection, kind: str, sheet_no: int, given: list[Any]) -> None:
    base = WEIGHED if kind == "weighings" else WROTE
    for row_no, changed in enumerate(given, start=2):
        row = {"sheet_no": sheet_no, "row_no": row_no} | base | changed
        con.execute(
            f"insert into filled_{kind} ({', '.join(row)}) values ({', '.join('?' for _ in row)})",
            list(row.values()),
        )


def _matched(
    con: duckdb.DuckDBPyConnection, weighed: list[Any], wrote: list[Any]
) -> dict[tuple[int, int], str]:
    """Pairs by the place of record and weighing in the lists, with why."""
    _put(con, "weighings", WEIGHINGS, weighed)
    _put(con, "deliveries", DELIVERIES, wrote)
    con.execute(season_sql("coffee_days"))
    match_season(con)
    found = rows(con, "select record_row_no - 2, weighed_row_no - 2, why from matched")
    return {(record, weighing): why for record, weighing, why in found}


def _alone(con: duckdb.DuckDBPyConnection) -> list[Any]:
    return rows(
        con,
        "select side, row_no - 2, because, receipt_unknown from unmatched order by side, row_no",
    )


# One record and one weighing: what differs, and why they are a pair, or "" where they are none.
REASONS: list[tuple[str, dict[str, Any]]] = [
    ("receipt", {}),
    ("receipt", {"kg": "58.5"}),
    ("receipt-weight-slip", {"kg": "600.0"}),
    ("receipt-weight-slip", {"kg": "132.5"}),
    ("receipt-weight-slip", {"kg": "80.0"}),
    ("receipt-weight-slip", {"kg": "60.5", "written_from": "receipt_copy"}),
    ("receipt-weight-differs", {"kg": "47.5"}),
    ("receipt-day-differs", {"day": DAY + timedelta(days=20)}),
    ("receipt-coffee-differs", {"form": "fresh_cherry"}),
    ("receipt-member-slip", {"member_no": "10091"}),
    ("receipt-slip", {"receipt_no": 110}),
    ("receipt-slip", {"receipt_no": 107, "day": NEXT_DAY}),
    ("receipt-slip", {"receipt_book": "K07"}),
    ("receipt-slip", {"receipt_book": None}),
    ("receipt-and-weight-slip", {"receipt_no": 110, "kg": "6.0"}),
    ("receipt-slip-weight-differs", {"receipt_no": 110, "kg": "47.5"}),
    ("member-day-weight", NO_NUMBER),
    ("member-day-weight", NO_NUMBER | {"kg": "61.5"}),
    ("member-next-day-weight", NO_NUMBER | {"day": NEXT_DAY}),
    ("member-day-weight-slip", NO_NUMBER | {"kg": "6.0"}),
    ("member-day-weight-differs", NO_NUMBER | {"kg": "47.5"}),
    # Not taken blindly: the number is of another member's receipt, or nothing but the number fits.
    ("", {"member_no": "20044"}),
    ("", {"member_no": "10091", "kg": "47.5"}),
    ("", {"day": DAY + timedelta(days=20), "kg": "47.5"}),
    ("", NO_NUMBER | {"day": NEXT_DAY, "kg": "47.5"}),
    ("", NO_NUMBER | {"day": DAY + timedelta(days=2)}),
    ("", NO_NUMBER | {"form": "fresh_cherry"}),
    ("", {"receipt_book": "K55", "receipt_no": 8123}),
]


@pytest.mark.parametrize(("why", "wrote"), REASONS)
def test_each_reason_for_a_pair(
    con: duckdb.DuckDBPyConnection, why: str, wrote: dict[str, Any]
) -> None:
    assert _matched(con, [{}], [wrote]) == ({(0, 0): why} if why else {})
    assert not why or why in WHY


def test_every_reason_has_its_words_and_a_row_here() -> None:
    assert {why for why, _ in REASONS if why} == set(WHY)
    assert set(BECAUSE) == {"cannot-be-told-apart", "unsure", "no-candidate"}


def test_a_pair_says_how_far_apart_it_is(con: duckdb.DuckDBPyConnection) -> None:
    lines = [{}, {"line": 2, "net_kg": "40.0"}]
    _matched(con, lines, [{"kg": "98.5", "day": NEXT_DAY}])
    # 1.5 kg below the two lines together, 1.5 %, and written a day late.
    assert rows(
        con,
        "select record_kg, net_kg, pct_apart, lines, weighed_row_no, "
        "written_from, weighed_by, independent from matched",
    ) == [
        (Decimal("98.5"), Decimal("100"), Decimal("-1.5"), 2, 2,
         "own_notebook", "Lio Tessan", True)
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("wrote", "independent"),
    [
        ({}, True),
        ({"written_from": "memory"}, True),
        ({"recorder": None}, True),
        ({"written_from": "receipt_copy"}, False),
        # Whoever weighed wrote the member's record as well.
        ({"recorder": "LIO TESSAN"}, False),
    ],
)
def test_a_copy_of_the_receipt_is_no_second_witness(
    con: duckdb.DuckDBPyConnection, wrote: dict[str, Any], independent: bool
) -> None:
    _matched(con, [{}], [wrote])
    assert rows(con, "select independent from matched") == [(independent,)]


def test_a_wrong_number_gives_way_to_the_record_that_it_belongs_to(
    con: duckdb.DuckDBPyConnection,
) -> None:
    # The afternoon's record carries the morning's number.
    weighed = [{}, {"receipt_no": 140, "net_kg": "35.0"}]
    wrote = [{"kg": "34.5"}, {}]
    assert _matched(con, weighed, wrote) == {(0, 1): "member-day-weight", (1, 0): "receipt"}


def test_the_best_over_all_and_not_first_come(con: duckdb.DuckDBPyConnection) -> None:
    # The first record is nearest to the first weighing, and so is the second, which fits no other.
    weighed = [{"net_kg": "60.0"}, {"net_kg": "62.5", "receipt_no": 102}]
    wrote = [NO_NUMBER | {"kg": "61.0"}, NO_NUMBER | {"kg": "58.5"}]
    assert _matched(con, weighed, wrote) == {
        (0, 1): "member-day-weight", (1, 0): "member-day-weight",
    }  # fmt: skip


def test_rows_that_are_alike_are_paired_and_said_to_be_interchangeable(
    con: duckdb.DuckDBPyConnection,
) -> None:
    weighed = [{}, {"receipt_no": 102}]
    assert set(_matched(con, weighed, [NO_NUMBER, NO_NUMBER]).values()) == {"member-day-weight"}
    assert rows(con, "select distinct standing from matched") == [("interchangeable",)]
    assert _alone(con) == []


def test_what_cannot_be_told_apart_is_left_to_a_person(con: duckdb.DuckDBPyConnection) -> None:
    weighed = [{"net_kg": "60.0"}, {"net_kg": "61.0", "receipt_no": 102}]
    wrote = [NO_NUMBER | {"kg": "60.0"}, NO_NUMBER | {"kg": "60.5"}]
    assert _matched(con, weighed, wrote) == {}
    doubt = "cannot-be-told-apart"
    assert _alone(con) == [
        ("record", 0, doubt, False), ("record", 1, doubt, False),
        ("weighing", 0, doubt, False), ("weighing", 1, doubt, False),
    ]  # fmt: skip
    (nearest,) = rows(con, "select nearest from unmatched where side = 'record' and row_no = 2")[0]
    assert [(near["row_no"], near["kg_apart"]) for near in json.loads(nearest)] == [
        (2, "0.000"),
        (3, "-1.000"),
    ]


def test_a_receipt_that_was_never_weighed_is_told_from_one_that_is_still_to_come(
    con: duckdb.DuckDBPyConnection,
) -> None:
    later = DAY + timedelta(days=9)
    wrote = [
        {"receipt_no": 777, "day": DAY - timedelta(days=9)},
        {"receipt_no": 778, "day": later},
    ]
    _matched(con, [{}], wrote)
    assert [row for row in _alone(con) if row[0] == "record"] == [
        ("record", 0, "no-candidate", True),
        ("record", 1, "no-candidate", False),
    ]


def test_a_member_who_keeps_no_record_is_not_listed(con: duckdb.DuckDBPyConnection) -> None:
    weighed = [{}, {"receipt_no": 102, "member_no": OTHER}, {"receipt_no": 103, "net_kg": "10"}]
    assert _matched(con, weighed, [{}]) == {(0, 0): "receipt"}
    assert _alone(con) == [("weighing", 2, "unsure", False)]


def test_rows_left_out_and_lines_that_stand_twice_take_no_part(
    con: duckdb.DuckDBPyConnection,
) -> None:
    con.execute("insert into exceptions values ('weighings', 1, 3, 'left_out', false)")
    con.execute(
        "insert into flags (flag, rule, severity, kind, sheet_no, row_no, row_key, col, facts, "
        "value_hash) values ('f', 'receipt-line-twice', 'send_back', 'weighings', 1, 4, '', '', "
        "'{}', '')"
    )
    _matched(con, [{}, {"line": 2}, {}], [{}])
    assert rows(con, "select net_kg, lines from matched") == [(Decimal("60"), 1)]


def test_a_crowded_day_is_left_to_receipt_numbers(con: duckdb.DuckDBPyConnection) -> None:
    weighed = [{"receipt_no": 100 + n} for n in range(51)]
    wrote = [NO_NUMBER] * 50 + [{"receipt_no": 107, "kg": "75.0"}]
    assert _matched(con, weighed, wrote) == {(50, 7): "receipt-weight-differs"}
