"""What the season cost and what it left: said where too little is recorded, never counted twice."""

from datetime import date
from decimal import Decimal

import duckdb
import pytest

from pipeline.season.tables import rows, season_sql
from tests.season.small import MONEY


def test_costs_by_heading_and_the_margin_over_them(farms: duckdb.DuckDBPyConnection) -> None:
    assert rows(
        farms,
        "select heading, sum(cost_minor) from member_cost where member_no = '10' "
        "group by heading order by 1",
    ) == [
        ("hired labour", 800),
        ("inputs", 1000),
        ("processing", 200),
        ("tools", 1500),
        ("transport", 300),
    ]
    # 125.00 less 23.00; a fifth of the tools; 100 kg green; five family days.
    assert rows(
        farms,
        "select variable_minor, fixed_minor, margin_minor, after_fixed_minor, cost_per_kg, "
        "price_per_kg, break_even_price, break_even_kg, per_family_day_minor, held "
        "from member_margin where member_no = '10'",
    ) == [
        (2300, 300, 10200, 9900, Decimal("0.2600"), Decimal("1.2500"), Decimal("0.2300"),
         Decimal("18.400"), 2040, None)
    ]  # fmt: skip


def test_a_visit_counts_where_the_record_is_silent_and_not_twice(
    farms: duckdb.DuckDBPyConnection,
) -> None:
    assert rows(
        farms,
        "select variable_minor, recalled_minor, family_days, weeks_recorded, weeks_recalled "
        "from member_margin where member_no = '11'",
    ) == [(2350, 500, Decimal("6.0"), 1, 9)]


def test_inputs_on_credit_are_costs_of_the_season_they_are_for(
    farms: duckdb.DuckDBPyConnection,
) -> None:
    """Written 8.00, recalled 5.00, compost 10.00 and its charge 0.50: 23.50; a fifth of the saw."""
    asked = (
        "select variable_minor, credit_minor, tools_minor, fixed_minor, held from member_margin "
        "where member_no = ?"
    )
    assert rows(farms, asked, ["11"]) == [(2350, 3550, 2500, 500, None)]
    # A note alone says nothing of what else was spent.
    assert rows(farms, asked, ["12"]) == [(None, 1000, None, None, "nothing-recorded")]


def test_an_item_that_the_record_holds_is_not_counted_from_the_note_too(
    farms: duckdb.DuckDBPyConnection,
) -> None:
    assert rows(
        farms,
        "select day, counts from member_cost where member_no = '15' and source = 'credit' "
        "order by day",
    ) == [(date(2026, 5, 4), True), (date(2026, 5, 25), False), (date(2026, 9, 1), True)]
    # 7.00 and 3.00 written down, two notes of 7.50.
    assert rows(farms, "select variable_minor from member_margin where member_no = '15'") == [
        (2500,)
    ]


@pytest.mark.parametrize(
    ("who", "held"), [("12", "nothing-recorded"), ("13", "no-cost"), ("14", "one-entry")]
)
def test_too_little_recorded_gives_a_reason_and_no_margin(
    farms: duckdb.DuckDBPyConnection, who: str, held: str
) -> None:
    assert rows(
        farms,
        "select margin_minor, cost_per_kg, held from member_margin where member_no = ?",
        [who],
    ) == [(None, None, held)]


def test_a_cost_of_a_thousand_times_the_usual_holds_the_margin_until_it_is_decided(
    farms: duckdb.DuckDBPyConnection,
) -> None:
    held = (
        "select member_no, margin_minor, held from member_margin where member_no in ('50', '51') "
        "order by 1"
    )
    assert rows(farms, held) == [("50", None, "cost-doubtful"), ("51", -1000, None)]
    place = rows(farms, "select sheet_no, row_no from rows_farm_record where cost_minor = 500000")
    farms.execute(
        "insert into decisions (decision_n, flag, rule, kind, sheet_no, row_no, row_key, col, "
        "value_hash, action, because, decided_by, decided_at) values (1, 'F', "
        "'cost-far-from-peers', 'farm_record', ?, ?, 'k', 'cost', 'h', 'count', "
        "'one harvest festival', 'Ana', '2026-06-01')",
        list(place[0]),
    )
    for table in ("costs_apart", "member_margin"):
        farms.execute(f"delete from {table}")
    farms.execute(season_sql("costs_apart"))
    farms.execute(season_sql("member_margin"), MONEY)
    assert rows(farms, held)[0] == ("50", -501_000, None)
