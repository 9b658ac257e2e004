"""Prices by station, band of moisture and days; entries that move balances between accounts."""

from datetime import date
from decimal import Decimal

import duckdb

from pipeline.season.balances import money_balances
from pipeline.season.tables import rows
from tests.season.small import FIRST, member, put, valued, weighing, work_out

COFFEE = {"species": "arabica", "form": "parchment", "grade": "1", "list_no": "PL"}


def price(con: duckdb.DuckDBPyConnection, per_kg: str, day: date = FIRST, **more: object) -> int:
    given = COFFEE | {"from_day": day, "price_per_kg": Decimal(per_kg)} | more
    return put(con, "prices", **given)


def weighed(con: duckdb.DuckDBPyConnection, day: date, moisture: str | None = None) -> None:
    weighing(con, "10.0", day=day, moisture_pct=moisture)


def test_a_stations_own_list_goes_before_and_ends_on_its_last_day(
    con: duckdb.DuckDBPyConnection,
) -> None:
    price(con, "1.0000")
    price(con, "1.5000", date(2026, 5, 6), station="KES", until_day=date(2026, 5, 8))
    price(con, "9.0000", station="ARD")
    for day in (5, 6, 8, 9):
        weighed(con, date(2026, 5, day))
    valued(con)
    found = [one for (one,) in rows(con, "select price_per_kg from valued order by row_no")]
    assert found == [Decimal(p) for p in ("1.0000", "1.5000", "1.5000", "1.0000")]


def test_a_list_that_ended_leaves_no_price(con: duckdb.DuckDBPyConnection) -> None:
    price(con, "1.0000", until_day=date(2026, 5, 5))
    price(con, "2.0000", date(2026, 5, 7))
    for day in (5, 6, 7):
        weighed(con, date(2026, 5, day))
    valued(con)
    found = [one for (one,) in rows(con, "select price_per_kg from valued order by row_no")]
    assert found == [Decimal("1.0000"), None, Decimal("2.0000")]


def test_moisture_picks_the_row_and_what_no_band_holds_has_no_price(
    con: duckdb.DuckDBPyConnection,
) -> None:
    # An older list without bands is no way round the newer one.
    price(con, "5.0000", date(2026, 4, 1))
    price(con, "3.0000", date(2026, 5, 1), moisture_up_to=Decimal("12.5"))
    at_12 = {"standard_moisture_pct": Decimal(12), "moisture_up_to": Decimal(14)}
    price(con, "2.0000", date(2026, 5, 1), moisture_above=Decimal("12.5"), **at_12)
    for moisture in ("12.5", "12.6", "14", "14.1", None):
        weighed(con, date(2026, 5, 4), moisture)
    valued(con)
    # 10 kg x 87.4 / 88 = 9.932; 10 kg x 86 / 88 = 9.773.
    assert rows(
        con,
        "select price_per_kg, paid_kg, value_minor, needs_moisture from valued order by row_no",
    ) == [
        (Decimal("3.0000"), Decimal("10.000"), 3000, False),
        (Decimal("2.0000"), Decimal("9.932"), 1986, False),
        (Decimal("2.0000"), Decimal("9.773"), 1955, False),
        (None, None, None, False),
        (None, None, None, True),
    ]


def test_bands_that_overlap_by_a_decision_give_one_price(con: duckdb.DuckDBPyConnection) -> None:
    price(con, "3.0000", moisture_up_to=Decimal(13))
    price(con, "2.0000", moisture_above=Decimal(12))
    weighed(con, date(2026, 5, 4), "12.5")
    valued(con)
    assert rows(con, "select price_per_kg from valued") == [(Decimal("2.0000"),)]


def entry(con: duckdb.DuckDBPyConnection, kind: str, minor: int, day: int, **more: object) -> None:
    n = rows(con, "select count(*) from rows_money_entries")[0][0]
    given = {"entry_no": f"J-{n}", "day": date(2026, 5, day), "member_no": "1", "entry": kind}
    put(con, "money_entries", **(given | {"amount_minor": minor, "reason": "x"} | more))


def test_balances_move_to_another_number_with_loan_and_shares(
    con: duckdb.DuckDBPyConnection,
) -> None:
    member(con, "1", "2")
    price(con, "1.0000")
    weighed(con, date(2026, 5, 4))
    put(con, "credit", note_no="N", line=1, day=FIRST, member_no="1", credit_kind="inputs",
        amount_minor=500)  # fmt: skip
    entry(con, "shares_in", 300, 5)
    # 10.00 less levy 0.10 and school fund 0.25 = 9.65.
    for what, minor in (("owed_to_member", 965), ("owed_by_member", 500), ("shares", 300)):
        entry(con, "moved", minor, 6, other_member="2", balance_of=what)
    work_out(con)
    assert rows(
        con,
        "select member_no, balance_minor, loan_minor, shares_minor from member_season "
        "order by member_no",
    ) == [("1", 0, 0, 0), ("2", 965, 500, 300)]
    told = money_balances(con)
    assert told["ok"] and told["accounts"]["moved"] == 0, told


def test_unclaimed_money_is_kept_apart_and_can_be_claimed(con: duckdb.DuckDBPyConnection) -> None:
    member(con, "1")
    price(con, "1.0000")
    weighed(con, date(2026, 5, 4))
    entry(con, "unclaimed", 965, 5)
    entry(con, "claimed", 200, 6)
    entry(con, "shares_in", 700, 6)
    entry(con, "shares_out", 400, 7)
    work_out(con)
    assert rows(con, "select balance_minor, shares_minor from member_season") == [(600, 300)]
    told = money_balances(con)
    assert told["ok"] and told["accounts"]["unclaimed"] == 765, told


def test_without_a_deduction_for_it_a_loan_is_only_repaid_in_cash(
    con: duckdb.DuckDBPyConnection,
) -> None:
    member(con, "1")
    price(con, "1.0000")
    put(con, "credit", note_no="N", line=1, day=FIRST, member_no="1", credit_kind="inputs",
        amount_minor=500)  # fmt: skip
    weighed(con, date(2026, 5, 4))
    entry(con, "repayment", 620, 6)
    work_out(con)
    # 9.65 for coffee and 1.20 that was paid beyond the loan.
    assert rows(con, "select balance_minor, loan_minor from member_season") == [(1085, 0)]
    assert money_balances(con)["ok"]
