"""Yield by the latest count of trees, and the margin over recorded costs."""

from datetime import date
from decimal import Decimal

import duckdb
import pytest

from pipeline.season.tables import rows
from tests.season.small import FIRST, member, plot, price, record, weighing, work_out


def test_yield_is_by_the_latest_count_of_every_plot(con: duckdb.DuckDBPyConnection) -> None:
    price(con, FIRST, "1.0000")
    weighing(con, "125")
    plot(con, "1", date(2026, 4, 1), 60)
    plot(con, "1", date(2024, 4, 1), 999)
    plot(con, "2", date(2026, 4, 1), 40, "0.25")
    member(con, "1")
    work_out(con)
    # 100 kg green from 60 + 40 trees on 0.75 ha.
    assert rows(
        con,
        "select trees, trees_bearing, area_ha, gbe_per_tree_kg, gbe_per_ha_kg from member_yield",
    ) == [(2000, 100, Decimal("0.7500"), Decimal("1.000"), Decimal("133.3"))]


@pytest.mark.parametrize(("bearing", "area"), [(0, "0.5"), (None, "0.5")])
def test_without_bearing_trees_there_is_no_yield_a_tree(
    con: duckdb.DuckDBPyConnection, bearing: int | None, area: str
) -> None:
    price(con, FIRST, "1.0000")
    weighing(con, "125")
    plot(con, "1", date(2026, 4, 1), bearing, area)
    member(con, "1")
    work_out(con)
    assert rows(con, "select gbe_kg, gbe_per_tree_kg, gbe_per_ha_kg from member_yield") == [
        (Decimal("100.000"), None, Decimal("200.0"))
    ]


def test_no_record_gives_no_margin_and_never_nought(con: duckdb.DuckDBPyConnection) -> None:
    price(con, FIRST, "1.0000")
    for number in ("1", "2", "3"):
        weighing(con, "125", member=number)
    member(con, "1", "2", "3", "4")
    record(con, "2", None)
    record(con, "3", 2500)
    record(con, "4", 2500)
    work_out(con)
    assert rows(
        con,
        "select member_no, record_rows, record_cost_minor from member_season order by member_no",
    ) == [
        ("1", 0, None),
        # A record without a cost is a record: its costs are nought.
        ("2", 1, 0),
        ("3", 1, 2500),
        ("4", 1, 2500),
    ]


@pytest.mark.parametrize(
    "costs", [(500, 500), (127, 127), (30000, 30000), (1, 2, 3), (70000, 70000)]
)
def test_costs_add_up_however_many_rows_there_are(
    con: duckdb.DuckDBPyConnection, costs: tuple[int, ...]
) -> None:
    member(con, "1", "2", "3")
    for n, cost in enumerate(costs):
        record(con, "1", cost, n)
    work_out(con)
    assert rows(con, "select record_cost_minor from member_season where member_no = '1'") == [
        (sum(costs),)
    ]
