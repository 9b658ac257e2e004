"""Drawn seasons in currencies of 0, 2 and 3 decimals: everything agrees to the smallest coin.

Beside what the program works out stands the same season worked out here, delivery by delivery, in
whole minor units.
"""

import csv
import io
import re
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from typing import Any

import duckdb
import pytest
from beancount import loader
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.coop import coop_facts
from pipeline.money import decimals
from pipeline.paying import list_files, list_in
from pipeline.season import money
from pipeline.season.balances import money_balances
from pipeline.season.money import OF_MEMBERS, work_out_money
from pipeline.season.tables import connect, rows, season_sql
from pipeline.settings import Settings, read_settings
from reports.query import one as reports_sql
from reports.statement import statement_models
from tests.money.by_hand import MONEY
from tests.season.small import FIRST, begin_season, put

pytestmark = pytest.mark.long

MEMBERS = ("1", "2", "3")
KEEP = {"inputs": 60, "charges": 50}


@dataclass
class Drawn:
    currency: str
    coffee: list[tuple[str, int, int]]
    credit: list[tuple[str, int, int]]
    charges: list[tuple[str, int, int]]
    paid: list[tuple[str, int, int]]
    price: Decimal


@st.composite
def seasons(draw: st.DrawFn) -> Drawn:
    currency = draw(st.sampled_from(["UGX", "USD", "TND"]))
    who, day = st.sampled_from(MEMBERS), st.integers(0, 20)
    unit = 10 ** decimals(currency)
    sums = st.integers(1, 60 * unit)
    few: Any = lambda value, most: st.lists(st.tuples(who, day, value), max_size=most)  # noqa: E731
    return Drawn(
        currency=currency,
        coffee=draw(st.lists(st.tuples(who, day, st.integers(1, 90_000)), min_size=1, max_size=14)),
        credit=draw(few(sums, 5)),
        charges=draw(few(sums, 4)),
        paid=draw(few(sums, 4)),
        price=Decimal(draw(st.integers(1, 40_000))).scaleb(-4) * (700 if unit == 1 else 1),
    )


def book_of(currency: str, levy: int = 3) -> Settings:
    text = MONEY.replace('currency = "USD"', f'currency = "{currency}"')
    text = text.replace('percent = "3"', f'percent = "{levy}"')
    if currency == "UGX":
        text = text.replace('cash_coin = "0.05"', 'cash_coin = "50"')
    return read_settings(text)


def filled(con: duckdb.DuckDBPyConnection, book: Settings, drawn: Drawn) -> None:
    begin_season(con, book)
    for member in MEMBERS:
        put(con, "members", member_no=member, name=member, village="V", station="KES")
    coffee = {"species": "arabica", "form": "parchment", "grade": "1"}
    put(con, "prices", from_day=FIRST, price_per_kg=drawn.price, list_no="P", **coffee)
    for n, (member, day, grams) in enumerate(drawn.coffee):
        kg = Decimal(grams).scaleb(-3)
        put(con, "weighings", station="KES", day=_day(day), receipt_book="K", receipt_no=n, line=1,
            member_no=member, net_kg=kg, **coffee)  # fmt: skip
    for n, (member, day, amount) in enumerate(drawn.credit):
        put(con, "credit", note_no=str(n), line=1, day=_day(day), member_no=member,
            credit_kind="inputs", amount_minor=amount)  # fmt: skip
    for n, (member, day, amount) in enumerate(drawn.charges):
        put(con, "money_entries", entry_no=str(n), day=_day(day), member_no=member,
            entry="charge", amount_minor=amount, reason="drawn", authority="drawn")  # fmt: skip
    for n, (member, day, amount) in enumerate(drawn.paid):
        put(con, "payments", payment_no=str(n), day=_day(day), member_no=member,
            amount_minor=amount, method="cash")  # fmt: skip
    con.execute(season_sql("green_basis"), {"measured": False, "least_g": 0})
    con.execute(season_sql("valued"), {"decimals": book.decimals})
    work_out_money(con, book)


def _day(n: int) -> date:
    return FIRST + timedelta(days=n)


def _rounded(exact: Decimal) -> int:
    return int(exact.quantize(Decimal(1), ROUND_HALF_UP))


def by_hand(drawn: Drawn, unit: int) -> Mapping[str, dict[str, int]]:
    """Each member's season, one delivery after the other, as a clerk would write it down."""
    books: dict[str, dict[str, int]] = {}
    for member in MEMBERS:
        owed: dict[str, list[tuple[int, int]]] = {
            "inputs": [(day, x) for who, day, x in drawn.credit if who == member],
            "charges": [(day, x) for who, day, x in drawn.charges if who == member],
        }
        taken: dict[str, int] = defaultdict(int)
        value = shares = 0
        mine = [(day, n, g) for n, (who, day, g) in enumerate(drawn.coffee) if who == member]
        for day, _, grams in sorted(mine):
            worth = _rounded(Decimal(grams) * drawn.price * unit / 1000)
            value += worth
            levy = _rounded(Decimal(worth) * 3 / 100)
            share = min(_rounded(Decimal(worth) * 10 / 100), 12 * unit - shares)
            shares += share
            left = worth - levy - share
            taken["levy"] += levy
            for code, keep in KEEP.items():
                due = sum(x for d, x in owed[code] if d <= day) - taken[code]
                kept = int((Decimal(worth) * keep / 100).quantize(Decimal(1), ROUND_CEILING))
                takes = min(due, max(left - kept, 0))
                taken[code] += takes
                left -= takes
        paid = sum(x for who, _, x in drawn.paid if who == member)
        books[member] = {
            "balance": value - sum(taken.values()) - shares - paid,
            "loan": sum(x for _, x in owed["inputs"]) - taken["inputs"],
            "shares": shares,
            "untaken": sum(x for _, x in owed["charges"]) - taken["charges"],
        }
    return books


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(seasons())
def test_ledger_statements_and_a_clerk_agree_to_the_smallest_coin(drawn: Drawn) -> None:
    book = book_of(drawn.currency)
    with connect(":memory:", read_only=False, macros=True) as con:
        filled(con, book, drawn)
        found = rows(
            con,
            "select member_no, balance_minor, loan_minor, shares_minor, untaken_minor "
            "from member_season",
        )
        names = ("balance", "loan", "shares", "untaken")
        assert {no: dict(zip(names, sums, strict=True)) for no, *sums in found} == by_hand(
            drawn, 10**book.decimals
        )
        told = money_balances(con)
        assert told["ok"], told
        (whole,) = rows(con, "select sum(balance_minor) from member_season")[0]
        assert told["owed_minor"] == whole == told["accounts"].get("member", 0)
        before = rows(con, "select * from transfers order by all")
        work_out_money(con, book, MEMBERS[:1])
        assert rows(con, "select * from transfers order by all") == before
        _balanced(con, book)
        _listed_and_printed(con, book)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(seasons(), st.sampled_from([3, 87, 95]))
def test_taken_at_once_is_what_the_queue_takes(drawn: Drawn, levy: int) -> None:
    book = book_of(drawn.currency, levy)
    queue = (
        "create or replace temp table waits as select member_no, 1 as position "
        "from (select member_no from earned union select member_no from debts)"
    )
    with connect(":memory:", read_only=False, macros=True) as con:
        filled(con, book, drawn)
        found = [rows(con, f"select * from {table} order by all") for table in OF_MEMBERS]
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(money, "season_sql", lambda n: queue if n == "waits" else season_sql(n))
            work_out_money(con, book)
        queued = [rows(con, f"select * from {table} order by all") for table in OF_MEMBERS]
        assert found == queued


def _listed_and_printed(con: duckdb.DuckDBPyConnection, book: Settings) -> None:
    """Payment list, statements as printed and group report say the same as the ledger."""
    owed = dict(rows(con, "select member_no, balance_minor from member_season"))
    made = list_in(con, book, "2026", _day(30), number=1, out={})
    listed = {payee.member_no: payee for payee in made.payees}
    left = {one["member_no"] for one in made.left_out}
    assert set(listed) | left == {no for no, minor in owed.items() if minor > 0}
    assert not set(listed) & left
    for no, payee in listed.items():
        assert payee.amount_minor + payee.carried_minor == owed[no]
        coin = book.paying.coin_minor if payee.method == "cash" else 1
        assert payee.amount_minor % coin == 0 <= payee.carried_minor < coin
    assert all(owed[no] < book.paying.coin_minor for no in left)
    if listed:
        *lines, last = csv.reader(
            io.StringIO(list_files(made, book, "2026-06-30T13:00:00Z")["payment_list.csv"].decode())
        )
        control = sum(_coins(line[-2], book) for line in lines[1:])
        assert control == _coins(last[-2], book) == made.sum_minor
    facts = coop_facts(book, "2026")
    # A statement whose lines do not add up to the ledger's totals is an error, not a page.
    printed = {
        model["member"]["no"]: model
        for model in statement_models(con, facts, explain=lambda _flag, _language: "")
    }
    balances = {no: _coins(model["signed"]["balance"], book) for no, model in printed.items()}
    assert balances == owed
    for no, model in printed.items():
        last = _coins(model["money"][-1]["amount"], book)
        above = sum(_coins(line["amount"], book) for line in model["money"][:-1])
        assert above == last == owed[no]
    totals = reports_sql(con, "group_totals")
    whole = {"value": 0, "deducted": 0, "paid": 0, "balance": 0}
    for model in printed.values():
        whole["value"] += _coins(model["lines_sum"], book)
        whole["paid"] += _coins(model["sums"]["paid"], book)
        whole["deducted"] += _coins(model["sums"]["deducted"], book)
        whole["balance"] += _coins(model["signed"]["balance"], book)
    assert {name: totals[f"{name}_minor"] for name in whole} == whole


def _coins(text: str, book: Settings) -> int:
    """An amount as it is printed, in coins: "−1,234.56" is -123456."""
    plain = re.sub(r"[^0-9.−-]", "", text).replace("−", "-")
    minor = Decimal(plain).scaleb(book.decimals)
    assert minor == int(minor), text
    return int(minor)


def _balanced(con: duckdb.DuckDBPyConnection, book: Settings) -> None:
    """Another program balances the same movements, written out here and not by the export."""
    places, code = book.decimals, book.currency
    accounts: set[str] = set()
    lines: list[str] = []
    for n, (debit, credit, member, minor) in enumerate(
        rows(con, "select from_account, to_account, member_no, amount_minor from transfers")
    ):
        pair = [f"Assets:{one.replace(':', '-').title()}-M{member}" for one in (debit, credit)]
        accounts |= set(pair)
        amount = Decimal(minor).scaleb(-places)
        lines += [f'2026-05-04 * "{n}"', f"  {pair[0]}  {amount} {code}",
                  f"  {pair[1]}  {-amount} {code}"]  # fmt: skip
    opened = [f"2026-01-01 open {account} {code}" for account in sorted(accounts)]
    asserted = [
        f"2027-01-01 balance Assets:Member-M{no}  {Decimal(-minor).scaleb(-places)} ~ 0 {code}"
        for no, minor in rows(con, "select member_no, balance_minor from member_season")
        if f"Assets:Member-M{no}" in accounts
    ]
    assert loader.load_string("\n".join([*opened, *lines, *asserted]))[1] == []
