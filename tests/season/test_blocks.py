"""What blocks bore: shared in full, held back where something is missing."""

from decimal import Decimal

import duckdb
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.book.macros import load_macros
from pipeline.season.tables import connect, rows, season_sql
from tests.season.farms import WOOD


def test_coffee_is_shared_by_bearing_trees_and_said_to_be(farms: duckdb.DuckDBPyConnection) -> None:
    # 100 kg green over 900 bearing trees: 66.667 and 33.333 kg, 0.111 kg a tree each.
    assert rows(
        farms,
        "select plot_no, gbe_kg, shared, per_tree_kg, per_ha_kg, held from block_yield "
        "where member_no = '1' order by plot_no",
    ) == [
        ("1", Decimal("66.667"), True, Decimal("0.111"), Decimal("133.3"), None),
        ("2", Decimal("33.333"), True, Decimal("0.111"), Decimal("133.3"), None),
        ("3", Decimal("0.000"), False, None, None, "none-bearing"),
    ]


def test_one_block_needs_no_sharing(farms: duckdb.DuckDBPyConnection) -> None:
    assert rows(farms, "select gbe_kg, shared from block_yield where member_no = '2'") == [
        (Decimal("100.000"), False)
    ]


@pytest.mark.parametrize(
    ("who", "held"), [("3", "none-bearing"), ("4", "none-bearing"), ("5", "too-young")]
)
def test_coffee_that_no_block_can_have_borne_stands_apart(
    farms: duckdb.DuckDBPyConnection, who: str, held: str
) -> None:
    assert rows(
        farms,
        "select plot_no, gbe_kg, per_tree_kg, held from block_yield where member_no = ? "
        "order by plot_no",
        [who],
    ) == [("", Decimal("100.000"), None, held), ("1", Decimal("0.000"), None, held)]


def test_coffee_without_any_plot_is_shown_without_a_yield(farms: duckdb.DuckDBPyConnection) -> None:
    assert rows(
        farms,
        "select plot_no, gbe_kg, per_tree_kg, held from block_yield where member_no = '6'",
    ) == [("", Decimal("100.000"), None, "no-plots")]


def test_no_area_gives_no_yield_a_hectare(farms: duckdb.DuckDBPyConnection) -> None:
    assert rows(
        farms,
        "select per_tree_kg, per_ha_kg, expected_low_kg from block_yield where member_no = '7'",
    ) == [(Decimal("0.200"), None, None)]


@pytest.mark.parametrize("who", WOOD)
def test_the_expected_band_follows_age_and_wood(farms: duckdb.DuckDBPyConnection, who: str) -> None:
    *_, class_, wood, low = WOOD[who]
    assert rows(
        farms,
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
