"""What blocks bore and what the season cost: shared in full, held back where something is missing.

One season holds every case, a member each, since a season takes longer to set up than to ask.
"""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Any

import duckdb
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.book.macros import load_macros
from pipeline.season.tables import connect, rows, season_sql
from tests.season.small import (
    FIRST,
    MONEY,
    empty_season,
    price,
    put,
    weighing,
    work_out,
)

PEERS = [str(n) for n in range(50, 60)]
WOOD = {
    # 500 kg a hectare on half a hectare with 700 trees is 0.357 kg a tree.
    "20": (2014, 2025, None, "full", "renewed", "0.357"),
    "21": (2014, 2020, None, "full", "overdue", "0.304"),
    "22": (2014, None, None, "full", "not recorded", "0.357"),
    "23": (2014, None, 2025, "full", "stumped", "0.071"),
    "24": (2022, None, None, "rising", "not due", "0.179"),
    "25": (1996, 2025, None, "old", "renewed", "0.250"),
}


def block(
    con: duckdb.DuckDBPyConnection, who: str, no: str, bearing: int | None, **cells: Any
) -> None:
    put(
        con,
        "plots",
        **{
            "member_no": who,
            "plot_no": no,
            "species": "arabica",
            "planted_year": 2014,
            "trees": 700,
            "trees_bearing": bearing,
            "area_ha": Decimal("0.5"),
            "counted_on": date(2026, 3, 16),
        }
        | cells,
    )


def spent(
    con: duckdb.DuckDBPyConnection, who: str, activity: str, cost: int | None, **cells: Any
) -> None:
    put(
        con,
        "farm_record",
        **{"member_no": who, "day": date(2026, 5, 4), "activity": activity, "cost_minor": cost}
        | cells,
    )


def recalled(con: duckdb.DuckDBPyConnection, who: str, work: str, cost: int, **cells: Any) -> None:
    put(
        con,
        "visits",
        **{"member_no": who, "day": date(2026, 6, 1), "work": work, "cost_minor": cost} | cells,
    )


def noted(con: duckdb.DuckDBPyConnection, who: str, item: str, amount: int, **cells: Any) -> None:
    put(
        con,
        "credit",
        **{
            "note_no": f"IN-{who}-{item}-{cells.get('day')}",
            "line": 1,
            "member_no": who,
            "day": date(2026, 5, 4),
            "credit_kind": "inputs",
            "item": item,
            "amount_minor": amount,
        }
        | cells,
    )


@pytest.fixture(scope="module")
def con() -> Iterator[duckdb.DuckDBPyConnection]:
    with empty_season() as made:
        price(made, FIRST, "1.0000")
        _blocks(made)
        _costs(made)
        for who in [*(str(n) for n in range(1, 16)), *WOOD, *PEERS]:
            put(made, "members", member_no=who, name=f"Member {who}", station="KES")
        for who in ("1", "2", "3", "4", "5", "6", "7", "10", "11", "12", "13", "14"):
            weighing(made, "125", member=who)
        work_out(made)
        for table in ("block_yield", "member_cost"):
            made.execute(season_sql(table))
        made.execute(season_sql("member_margin"), MONEY)
        yield made


def _blocks(con: duckdb.DuckDBPyConnection) -> None:
    block(con, "1", "1", 600)
    block(con, "1", "2", 300, area_ha=Decimal("0.25"))
    block(con, "1", "3", 0)
    block(con, "2", "1", 600)
    block(con, "3", "1", None)
    block(con, "4", "1", 0)
    block(con, "5", "1", 600, planted_year=2024)
    block(con, "7", "1", 500, area_ha=None)
    for who, (planted, pruned, stumped, *_) in WOOD.items():
        block(con, who, "1", 600, planted_year=planted, pruned_year=pruned, stumped_year=stumped)


def _costs(con: duckdb.DuckDBPyConnection) -> None:
    spent(con, "10", "manuring", 1000, item="compost")
    spent(con, "10", "weeding", 800, hired_days=Decimal(2), family_days=Decimal("4.5"))
    spent(con, "10", "transport", 300)
    spent(con, "10", "tools", 1500, item="saw")
    spent(con, "10", "drying", 200, item="mat", family_days=Decimal("0.5"))
    spent(con, "11", "weeding", 800)
    recalled(con, "11", "weeding", 900)
    recalled(con, "11", "picking", 500, family_days=Decimal(6), recalled_from=date(2026, 5, 4))
    spent(con, "13", "weeding", None)
    spent(con, "13", "pruning", None, family_days=Decimal(1))
    spent(con, "14", "pruning", 700)
    noted(con, "11", "compost", 1000, charge_minor=50)
    noted(con, "11", "saw", 2500, credit_kind="tools")
    noted(con, "11", "seedlings", 400, credit_kind="seedlings", for_season="2027")
    noted(con, "11", "school fees", 9900, credit_kind="cash_loan")
    noted(con, "12", "compost", 1000)
    # The record holds what the first note says; one entry answers one note.
    spent(con, "15", "manuring", 700, item="Compost ", day=date(2026, 5, 20))
    spent(con, "15", "weeding", 300)
    noted(con, "15", "compost", 750)
    noted(con, "15", "compost", 750, day=date(2026, 5, 25))
    noted(con, "15", "compost", 750, day=date(2026, 9, 1))
    for who in PEERS:
        spent(con, who, "other", 500)
        spent(con, who, "other", 500, day=date(2026, 5, 11))
    spent(con, PEERS[0], "other", 500_000)


def test_coffee_is_shared_by_bearing_trees_and_said_to_be(con: duckdb.DuckDBPyConnection) -> None:
    # 100 kg green over 900 bearing trees: 66.667 and 33.333 kg, 0.111 kg a tree each.
    assert rows(
        con,
        "select plot_no, gbe_kg, shared, per_tree_kg, per_ha_kg, held from block_yield "
        "where member_no = '1' order by plot_no",
    ) == [
        ("1", Decimal("66.667"), True, Decimal("0.111"), Decimal("133.3"), None),
        ("2", Decimal("33.333"), True, Decimal("0.111"), Decimal("133.3"), None),
        ("3", Decimal("0.000"), False, None, None, "none-bearing"),
    ]


def test_one_block_needs_no_sharing(con: duckdb.DuckDBPyConnection) -> None:
    assert rows(con, "select gbe_kg, shared from block_yield where member_no = '2'") == [
        (Decimal("100.000"), False)
    ]


@pytest.mark.parametrize(
    ("who", "held"), [("3", "none-bearing"), ("4", "none-bearing"), ("5", "too-young")]
)
def test_coffee_that_no_block_can_have_borne_stands_apart(
    con: duckdb.DuckDBPyConnection, who: str, held: str
) -> None:
    assert rows(
        con,
        "select plot_no, gbe_kg, per_tree_kg, held from block_yield where member_no = ? "
        "order by plot_no",
        [who],
    ) == [("", Decimal("100.000"), None, held), ("1", Decimal("0.000"), None, held)]


def test_coffee_without_any_plot_is_shown_without_a_yield(con: duckdb.DuckDBPyConnection) -> None:
    assert rows(
        con,
        "select plot_no, gbe_kg, per_tree_kg, held from block_yield where member_no = '6'",
    ) == [("", Decimal("100.000"), None, "no-plots")]


def test_no_area_gives_no_yield_a_hectare(con: duckdb.DuckDBPyConnection) -> None:
    assert rows(
        con,
        "select per_tree_kg, per_ha_kg, expected_low_kg from block_yield where member_no = '7'",
    ) == [(Decimal("0.200"), None, None)]


@pytest.mark.parametrize("who", WOOD)
def test_the_expected_band_follows_age_and_wood(con: duckdb.DuckDBPyConnection, who: str) -> None:
    *_, class_, wood, low = WOOD[who]
    assert rows(
        con,
        "select age_class, wood, expected_low_kg, held from block_yield where member_no = ?",
        [who],
    ) == [(class_, wood, Decimal(low), "no-coffee")]


@settings(max_examples=4, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.integers(min_value=1, max_value=900_000),
            st.lists(st.integers(min_value=0, max_value=5000), min_size=1, max_size=6),
        ),
        min_size=1,
        max_size=60,
    )
)
def test_the_blocks_always_add_up_to_the_coffee(drawn: list[tuple[int, list[int]]]) -> None:
    with connect(":memory:", read_only=False) as con:
        load_macros(con)
        con.execute(_ONLY_BLOCKS)
        for who, (kg, bearing) in enumerate(drawn):
            con.execute(
                "insert into member_coffee values (?, 'arabica', ?)", [who, Decimal(kg) / 1000]
            )
            con.execute(
                "insert into plots select ?, n, 'arabica', 2010, null, null, 5000, t, 0, 1, "
                "date '2026-01-01', 1, n, 'counted' from (select unnest(?) as t, "
                "generate_subscripts(?, 1) as n)",
                [who, bearing, bearing],
            )
        con.execute(season_sql("block_yield"))
        shared = (
            "select sum(gbe_kg) from block_yield group by member_no order by member_no::integer"
        )
        assert rows(con, shared) == [(Decimal(kg) / 1000,) for kg, _ in drawn]
        assert rows(con, "select 1 from block_yield where gbe_kg < 0") == []


_ONLY_BLOCKS = """
create table member_coffee (member_no varchar, species varchar, gbe_kg decimal(14, 3));
create table plots (member_no varchar, plot_no varchar, species varchar, planted_year integer,
    pruned_year integer, stumped_year integer, trees bigint, trees_bearing bigint, gaps bigint,
    area_ha decimal(14, 4), counted_on date, sheet_no integer, row_no integer, state varchar);
create table farm_record (
    member_no varchar, plot_no varchar, day date, activity varchar, state varchar);
create table season_days as select date '2026-03-30' as first_day, date '2026-10-04' as last_day;
create table known_members (member_no varchar, name varchar, station varchar);
create table stations (station varchar, name varchar, zone varchar);
create table limits_here as select '' as station, 'arabica' as species, '' as form,
    3.0::decimal(14, 4) as bearing_age, 500::decimal(14, 4) as expected_per_ha_low,
    1500::decimal(14, 4) as expected_per_ha_high;
create table block_yield (member_no varchar, plot_no varchar, species varchar, planted_year integer,
    age integer, age_class varchar, wood varchar, trees bigint, trees_bearing bigint, gaps bigint,
    area_ha decimal(14, 4), gbe_kg decimal(14, 3), shared boolean, per_tree_kg decimal(14, 3),
    per_ha_kg decimal(14, 1), expected_low_kg decimal(14, 3), expected_high_kg decimal(14, 3),
    held varchar);
"""


def test_costs_by_heading_and_the_margin_over_them(con: duckdb.DuckDBPyConnection) -> None:
    assert rows(
        con,
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
        con,
        "select variable_minor, fixed_minor, margin_minor, after_fixed_minor, cost_per_kg, "
        "price_per_kg, break_even_price, break_even_kg, per_family_day_minor, held "
        "from member_margin where member_no = '10'",
    ) == [
        (2300, 300, 10200, 9900, Decimal("0.2600"), Decimal("1.2500"), Decimal("0.2300"),
         Decimal("18.400"), 2040, None)
    ]  # fmt: skip


def test_a_visit_counts_where_the_record_is_silent_and_not_twice(
    con: duckdb.DuckDBPyConnection,
) -> None:
    assert rows(
        con,
        "select variable_minor, recalled_minor, family_days, weeks_recorded, weeks_recalled "
        "from member_margin where member_no = '11'",
    ) == [(2350, 500, Decimal("6.0"), 1, 9)]


def test_inputs_on_credit_are_costs_of_the_season_they_are_for(
    con: duckdb.DuckDBPyConnection,
) -> None:
    """Written 8.00, recalled 5.00, compost 10.00 and its charge 0.50: 23.50; a fifth of the saw."""
    asked = (
        "select variable_minor, credit_minor, tools_minor, fixed_minor, held from member_margin "
        "where member_no = ?"
    )
    assert rows(con, asked, ["11"]) == [(2350, 3550, 2500, 500, None)]
    # A note alone says nothing of what else was spent.
    assert rows(con, asked, ["12"]) == [(None, 1000, None, None, "nothing-recorded")]


def test_an_item_that_the_record_holds_is_not_counted_from_the_note_too(
    con: duckdb.DuckDBPyConnection,
) -> None:
    assert rows(
        con,
        "select day, counts from member_cost where member_no = '15' and source = 'credit' "
        "order by day",
    ) == [(date(2026, 5, 4), True), (date(2026, 5, 25), False), (date(2026, 9, 1), True)]
    # 7.00 and 3.00 written down, two notes of 7.50.
    assert rows(con, "select variable_minor from member_margin where member_no = '15'") == [(2500,)]


@pytest.mark.parametrize(
    ("who", "held"), [("12", "nothing-recorded"), ("13", "no-cost"), ("14", "one-entry")]
)
def test_too_little_recorded_gives_a_reason_and_no_margin(
    con: duckdb.DuckDBPyConnection, who: str, held: str
) -> None:
    assert rows(
        con,
        "select margin_minor, cost_per_kg, held from member_margin where member_no = ?",
        [who],
    ) == [(None, None, held)]


def test_a_cost_of_a_thousand_times_the_usual_holds_the_margin_until_it_is_decided(
    con: duckdb.DuckDBPyConnection,
) -> None:
    held = (
        "select member_no, margin_minor, held from member_margin where member_no in ('50', '51') "
        "order by 1"
    )
    assert rows(con, held) == [("50", None, "cost-doubtful"), ("51", -1000, None)]
    place = rows(con, "select sheet_no, row_no from rows_farm_record where cost_minor = 500000")
    con.execute(
        "insert into decisions (decision_n, flag, rule, kind, sheet_no, row_no, row_key, col, "
        "value_hash, action, because, decided_by, decided_at) values (1, 'F', "
        "'cost-far-from-peers', 'farm_record', ?, ?, 'k', 'cost', 'h', 'count', "
        "'one harvest festival', 'Ana', '2026-06-01')",
        list(place[0]),
    )
    for table in ("member_cost", "member_margin"):
        con.execute(f"delete from {table}")
    con.execute(season_sql("member_cost"))
    con.execute(season_sql("member_margin"), MONEY)
    assert rows(con, held)[0] == ("50", -501_000, None)
