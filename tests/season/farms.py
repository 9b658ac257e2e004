"""One season that holds every case of what blocks bear and what they cost, a member each.

A season takes longer to set up than to ask.
"""

from collections.abc import Generator
from contextlib import contextmanager
from datetime import date
from decimal import Decimal
from typing import Any

import duckdb

from pipeline.season.tables import season_sql
from tests.season.small import FIRST, MONEY, empty_season, price, put, weighing, work_out

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


@contextmanager
def farm_season() -> Generator[duckdb.DuckDBPyConnection]:
    """Yield a season that is worked out up to what the members' coffee left them."""
    with empty_season() as made:
        price(made, FIRST, "1.0000")
        _blocks(made)
        _costs(made)
        for who in [*(str(n) for n in range(1, 16)), *WOOD, *PEERS]:
            put(made, "members", member_no=who, name=f"Member {who}", station="KES")
        for who in ("1", "2", "3", "4", "5", "6", "7", "10", "11", "12", "13", "14"):
            weighing(made, "125", member=who)
        work_out(made)
        made.execute(season_sql("costs_apart"))
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
