"""Gross margin, against two printed examples, one of them with printed errors."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from pipeline.season.margin import (
    GrossMargin,
    break_even_price,
    break_even_yield,
    gross_margin,
    return_to_labour,
)
from pipeline.season.tables import rows, season_sql
from tests.season.small import FIRST, empty_season, price, put, weighing, work_out
from tests.take.small import SETTINGS

# Tanzania Institute of Education, Agriculture Form Three p. 328 (read): beans, one hectare,
# 1800 kg at 1200. The shillings of the page carry no cents: whole units, so 0 decimals.
YIELD_KG = Decimal(1800)
PRICE = Decimal(1200)
MATERIALS = [78_500, 94_500, 94_750, 19_000, 15_500, 6_500]
LABOUR = [
    21_400, 68_000, 37_000, 49_500, 58_000, 18_000, 11_000, 54_000, 23_500, 8_700, 14_500,
]  # fmt: skip
DAYS = Decimal(63)


@pytest.fixture
def beans() -> GrossMargin:
    return gross_margin(int(YIELD_KG * PRICE), [*MATERIALS, *LABOUR])


def test_margin_of_200_units() -> None:
    # Same book p. 327 (read): 200 x 12 000 less 1 680 000 = 720 000.
    assert gross_margin(200 * 12_000, [1_680_000]).margin_minor == 720_000


def test_margin_of_the_beans(beans: GrossMargin) -> None:
    assert sum(LABOUR) == 363_600
    assert beans.variable_costs_minor == 308_750 + 363_600
    assert beans.margin_minor == 1_487_650


def test_the_page_counts_one_item_twice(beans: GrossMargin) -> None:
    # It prints 403 250 for materials and 1 393 150 for the margin; the items give neither.
    materials = gross_margin(0, MATERIALS).variable_costs_minor
    assert materials == 308_750 != 403_250
    assert 403_250 - materials == MATERIALS[1]
    assert beans.margin_minor - 1_393_150 == MATERIALS[1]


def test_break_even_of_the_beans(beans: GrossMargin) -> None:
    costs = beans.variable_costs_minor
    assert break_even_price(costs, YIELD_KG, currency_decimals=0) == Decimal("373.53")
    assert break_even_yield(costs, PRICE, currency_decimals=0) == Decimal("560.29")


def test_return_to_a_day_of_labour(beans: GrossMargin) -> None:
    # 29 384.9 a day over 63 days, recomputed.
    a_day = return_to_labour(beans, sum(LABOUR), DAYS, currency_decimals=0, places=1)
    assert a_day == Decimal("29384.9")


def test_minor_units_change_the_figures_not_the_result(beans: GrossMargin) -> None:
    in_cents = gross_margin(beans.value_minor * 100, [item * 100 for item in [*MATERIALS, *LABOUR]])
    assert in_cents.margin_minor == 148_765_000
    costs = in_cents.variable_costs_minor
    assert break_even_price(costs, YIELD_KG, currency_decimals=2) == Decimal("373.53")
    assert break_even_price(costs, YIELD_KG, currency_decimals=2, places=4) == Decimal("373.5278")
    assert break_even_yield(costs, PRICE, currency_decimals=2) == Decimal("560.29")


def test_a_loss_is_rounded_away_from_zero() -> None:
    # Arithmetic: a margin of -1 over 8 days is -0.125.
    loss = gross_margin(0, [1])
    assert loss.margin_minor == -1
    assert return_to_labour(loss, 0, Decimal(8), currency_decimals=0) == Decimal("-0.13")


def test_no_break_even_without_harvest_price_or_days(beans: GrossMargin) -> None:
    costs = beans.variable_costs_minor
    assert break_even_price(costs, Decimal(0), currency_decimals=0) is None
    assert break_even_yield(costs, Decimal(0), currency_decimals=0) is None
    assert return_to_labour(beans, 0, Decimal(0), currency_decimals=0) is None


def test_the_beans_through_the_season_with_their_materials_on_credit() -> None:
    """The margin is the page's own, though issue notes hold three of the materials.

    One of these stands in the record too and is counted once. The second member's work is the
    family's: 63 days without a cost, and the return to a day is the page's.
    """
    with empty_season(SETTINGS.replace('"USD"', '"TZS"')) as con:
        price(con, FIRST, str(PRICE), form="green")
        for who in ("1", "2"):
            put(con, "members", member_no=who, name=f"Member {who}", station="KES")
            weighing(con, str(YIELD_KG), member=who, form="green")
            for n, item in enumerate(MATERIALS):
                of: dict[str, Any] = {
                    "member_no": who,
                    "day": date(2026, 5, 4),
                    "item": f"item {n}",
                }
                if n < 3:
                    note = {"note_no": f"IN-{who}", "line": n + 1, "credit_kind": "inputs"}
                    put(con, "credit", **of, **note, amount_minor=item * 100)
                if n >= 2:
                    put(con, "farm_record", **of, activity="manuring", cost_minor=item * 100)
        for n, cost in enumerate(LABOUR):
            of = {"day": date(2026, 5, 11), "activity": "weeding"}
            put(con, "farm_record", member_no="1", **of, cost_minor=cost * 100, hired_days=n + 1)
        put(con, "farm_record", member_no="2", **of, family_days=DAYS)
        work_out(con)
        con.execute(season_sql("costs_apart"))
        con.execute(season_sql("member_margin"), {"decimals": 2})
        found = rows(
            con,
            "select margin_minor, break_even_price, break_even_kg, per_family_day_minor "
            "from member_margin order by member_no",
        )
    assert found[0] == (148_765_000, Decimal("373.5278"), Decimal("560.292"), None)
    assert found[1][0] == 148_765_000 + 36_360_000 and found[1][3] == 2_938_492
