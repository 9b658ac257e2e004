"""Gross margin, against a printed example with printed errors."""

from datetime import date
from decimal import Decimal
from typing import Any

from pipeline.season.tables import rows, season_sql
from tests.season.small import FIRST, empty_season, price, put, weighing, work_out
from tests.take.small import SETTINGS

# Tanzania Institute of Education, Agriculture Form Three p. 328 (read): beans, one hectare,
# 1800 kg at 1200. The shillings of the page carry no cents: whole units, so 0 decimals.
# It prints 403 250 for materials and 1 393 150 for the margin, which count 94 500 twice: the items
# come to 308 750, and leave 1 487 650.
YIELD_KG = Decimal(1800)
PRICE = Decimal(1200)
MATERIALS = [78_500, 94_500, 94_750, 19_000, 15_500, 6_500]
LABOUR = [
    21_400, 68_000, 37_000, 49_500, 58_000, 18_000, 11_000, 54_000, 23_500, 8_700, 14_500,
]  # fmt: skip
DAYS = Decimal(63)


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
