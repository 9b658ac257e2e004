"""What an earlier season could not take: which deduction takes it, and what goes over of it."""

from datetime import date
from typing import Any

import duckdb

from pipeline.season.tables import dicts, rows, season_sql
from tests.season.small import FIRST, member, price, put, weighing, work_out


def due(con: duckdb.DuckDBPyConnection, amount: int, **cells: Any) -> None:
    put(
        con,
        "opening_balances",
        **{"member_no": "1", "day": FIRST, "balance_of": "charges_due", "amount_minor": amount}
        | cells,
    )


def taken(con: duckdb.DuckDBPyConnection) -> dict[str, int]:
    found = rows(
        con,
        "select to_account, cast(sum(amount_minor) as bigint) from transfers "
        "where what = 'deduction' group by to_account",
    )
    return dict(found)


def test_what_was_carried_is_taken_by_the_deduction_that_asked_it(
    con: duckdb.DuckDBPyConnection,
) -> None:
    """100.00 of coffee: levy 1 % and the 3.00 due; school 2.5 %; a code that is gone: a charge."""
    member(con, "1")
    price(con, FIRST, "1.0000")
    weighing(con, "100")
    due(con, 300, deduction="levy", authority="Resolution 3 of 2025")
    due(con, 200, deduction="road", authority="Resolution 9 of 2024")
    due(con, 50)
    work_out(con)
    assert taken(con) == {
        "deduction:levy": 100 + 300,
        "deduction:school": 250,
        "deduction:charges": 200 + 50,
    }
    assert rows(con, "select * from untaken") == []


def test_what_is_still_due_goes_over_with_its_code_and_what_allows_it(
    con: duckdb.DuckDBPyConnection,
) -> None:
    """5.00 of coffee: levy 0.05 and 3.00 due, school 0.13; the road's 2.00 leaves 1.82 of it.

    0.18 of the road's, the older charge, is still due, and all of the younger one.
    """
    member(con, "1")
    price(con, FIRST, "1.0000")
    weighing(con, "5")
    due(con, 300, deduction="levy", authority="Resolution 3 of 2025")
    due(con, 200, deduction="road", authority="Resolution 9 of 2024")
    entry = {"entry_no": "J-1", "day": date(2026, 5, 2), "entry": "charge", "reason": "new bags"}
    put(con, "money_entries", member_no="1", amount_minor=70, authority="Board", **entry)
    note = {"note_no": "IN-1", "line": 1, "day": date(2026, 9, 1), "credit_kind": "inputs"}
    put(con, "credit", member_no="1", amount_minor=900, for_season="2027", **note)
    work_out(con)
    carried = [
        (row["balance_of"], row["amount_minor"], row["deduction"], row["authority"])
        for row in dicts(con, season_sql("carried"))
    ]
    assert carried == [
        ("charges_due", 70, "charges", "Board"),
        ("charges_due", 18, "charges", "Resolution 9 of 2024"),
        ("inputs_given", 900, None, None),
        ("owed_by_member", 900, None, None),
    ]


def test_shares_still_due_count_towards_the_same_target(con: duckdb.DuckDBPyConnection) -> None:
    """2.00 of 10.00 paid up, 3.00 due: 5.00 more are asked of later coffee, at 10 %, no more."""
    con.execute("update deductions set position = position + 1")
    con.execute(
        "insert into deductions values (1, 'shares', 'Shares', 'Article 9', null, 10, null, "
        "'shares', 1000, 0)"
    )
    member(con, "1")
    price(con, FIRST, "1.0000")
    weighing(con, "100")
    put(con, "opening_balances", member_no="1", day=FIRST, balance_of="shares", amount_minor=200)
    due(con, 300, deduction="shares", authority="Article 9")
    work_out(con)
    assert taken(con)["deduction:shares"] == 800
    assert rows(con, "select shares_minor from member_season") == [(1000,)]
