"""What coffee is worth, what is held back of it and which rows move money."""

from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from random import Random

import duckdb
import pytest

from pipeline.season.money import work_out_money
from pipeline.season.tables import rows
from pipeline.settings import read_settings
from tests.season.small import (
    A_KG_GREEN,
    FIRST,
    SHEETS,
    TWICE_DEDUCTED,
    cents,
    member,
    price,
    put,
    valued,
    weighing,
    work_out,
)


def test_a_price_holds_from_its_day_until_the_next(con: duckdb.DuckDBPyConnection) -> None:
    first, second = price(con, date(2026, 4, 6), "1.0000"), price(con, date(2026, 5, 4), "1.2500")
    for day in (date(2026, 4, 5), date(2026, 4, 6), date(2026, 5, 3), date(2026, 5, 4)):
        weighing(con, "10.0", day=day)
    weighing(con, "10.0", day=date(2026, 9, 1), form="green")
    valued(con)
    assert rows(
        con, "select price_per_kg, price_row_no, value_minor from valued order by row_no"
    ) == [
        (None, None, None),
        (Decimal("1.0000"), first, 1000),
        (Decimal("1.0000"), first, 1000),
        (Decimal("1.2500"), second, 1250),
        (None, None, None),
    ]


@pytest.mark.parametrize("seed", range(4))
def test_drawn_weighings_are_valued_as_by_hand(con: duckdb.DuckDBPyConnection, seed: int) -> None:
    draw = Random(seed)
    days = draw.sample(range(180), 6)
    lists = {
        (form, FIRST + timedelta(days=n)): Decimal(draw.randrange(1, 30000)).scaleb(-4)
        for form in ("parchment", "fresh_cherry")
        for n in days
    }
    for (form, day), per_kg in lists.items():
        price(con, day, str(per_kg), form)
    drawn: list[tuple[date, str, Decimal]] = []
    for _ in range(60):
        day = FIRST + timedelta(days=draw.randrange(188))
        form = draw.choice(["parchment", "fresh_cherry", "green"])
        kg = Decimal(draw.randrange(1, 200000)).scaleb(-3)
        weighing(con, str(kg), day=day, form=form)
        drawn.append((day, form, kg))
    valued(con)
    found = rows(con, "select value_minor, gbe_kg from valued order by row_no")
    for (day, form, kg), (value, gbe) in zip(drawn, found, strict=True):
        held = [(d, p) for (f, d), p in lists.items() if f == form and d <= day]
        assert value == (cents(kg * max(held)[1] * 100) if held else None)
        assert gbe == (kg / A_KG_GREEN[form]).quantize(Decimal("0.001"), rounding=ROUND_HALF_UP)


def test_each_deduction_is_of_the_whole_value_and_rounded_once(
    con: duckdb.DuckDBPyConnection,
) -> None:
    price(con, FIRST, "1.0000")
    price(con, FIRST, "1.0000", "fresh_cherry")
    dry, fresh = weighing(con, "12.5"), weighing(con, "60.5", form="fresh_cherry")
    valued(con)
    work_out_money(con, read_settings(TWICE_DEDUCTED))
    assert rows(
        con,
        "select row_no, what, from_account, to_account, amount_minor from transfers order by all",
    ) == [
        (dry, "coffee", "coffee", "member", 1250),
        # 1 % of 12.50 is 0.125: half a cent goes up. 2.5 % of it is 0.3125.
        (dry, "deduction", "member", "deduction:levy", 13),
        (dry, "deduction", "member", "deduction:school", 31),
        (fresh, "coffee", "coffee", "member", 6050),
        # 0.605 and 1.5125; 60.5 kg at 0.0150 is 0.9075.
        (fresh, "deduction", "member", "deduction:levy", 61),
        (fresh, "deduction", "member", "deduction:school", 151),
        (fresh, "deduction", "member", "deduction:transport", 91),
    ]


def test_only_counted_rows_move_money(con: duckdb.DuckDBPyConnection) -> None:
    price(con, FIRST, "1.0000")
    kept = [weighing(con, "10") for _ in range(5)]
    paid = [
        put(
            con,
            "payments",
            payment_no=f"P-{n}",
            day=FIRST,
            member_no="1",
            amount_minor=100 + n,
            method="cash",
        )
        for n in range(2)
    ]
    for row_no, state in zip(kept[1:], ("held", "sent_back", "replaced", "left_out"), strict=True):
        con.execute(
            "insert into exceptions values ('weighings', ?, ?, ?, false)",
            [SHEETS["weighings"], row_no, state],
        )
    con.execute(
        "insert into exceptions values ('payments', ?, ?, 'held', false)",
        [SHEETS["payments"], paid[1]],
    )
    member(con, "1")
    work_out(con)
    assert rows(
        con,
        "select deliveries, value_minor, paid_minor, waiting_rows, waiting_kg from member_season",
    ) == [(1, 1000, 100, 2, Decimal("20.000"))]
