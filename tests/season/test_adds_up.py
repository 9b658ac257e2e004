"""A season adds up as the same sums in Python do, and what does not is found."""

from collections import Counter, defaultdict
from decimal import Decimal
from random import Random

import duckdb
import pytest

from pipeline.season.apart import WHOSE, Copied, apart
from pipeline.season.laws import broken_laws, broken_laws_of_money
from pipeline.season.tables import rows, season_sql
from tests.season.small import FIRST, SHEETS, member, price, put, record, weighing, work_out

IN_TWO_STATES = (
    "insert into exceptions select 'weighings', sheet_no, 3, state, false "
    f"from (values ({SHEETS['weighings']}, 'held'), ({SHEETS['weighings']}, 'left_out')) "
    "as e (sheet_no, state)"
)


@pytest.mark.parametrize("seed", range(4))
def test_drawn_seasons_add_up_as_by_hand(con: duckdb.DuckDBPyConnection, seed: int) -> None:
    draw = Random(seed)
    numbers = [str(n) for n in range(1, draw.randrange(3, 30))]
    member(con, *numbers)
    price(con, FIRST, str(Decimal(draw.randrange(1, 30000)).scaleb(-4)))
    costs: dict[str, list[int]] = defaultdict(list)
    for n in range(draw.randrange(1, 60)):
        number = draw.choice(numbers)
        costs[number].append(draw.randrange(1, 100000))
        record(con, number, costs[number][-1], n % 100)
    paid: Counter[str] = Counter()
    for n in range(40):
        number, amount = draw.choice(numbers), draw.randrange(1, 100000)
        paid[number] += amount
        put(
            con,
            "payments",
            payment_no=str(n),
            day=FIRST,
            member_no=number,
            amount_minor=amount,
            method="cash",
        )
    kg: Counter[str] = Counter()
    for _ in range(60):
        number, weight = draw.choice(numbers), Decimal(draw.randrange(1, 200000)).scaleb(-3)
        weighing(con, str(weight), member=number)
        kg[number] += weight  # pyright: ignore[reportArgumentType]
    work_out(con)
    ledger = {
        (number, what): amount
        for number, what, amount in rows(
            con, "select member_no, what, sum(amount_minor) from transfers group by all"
        )
    }
    for number, value, deducted, had, balance, cost in rows(
        con,
        "select member_no, value_minor, deducted_minor, paid_minor, balance_minor, "
        "record_cost_minor from member_season",
    ):
        assert value == ledger.get((number, "coffee"), 0)
        assert deducted == ledger.get((number, "deduction"), 0)
        assert had == paid[number] == ledger.get((number, "payment"), 0)
        assert balance == value - deducted - had
        assert cost == (sum(costs[number]) if number in costs else None)
    # The laws add the ledger's tables up as they stand: that is what its movements come to.
    settled = rows(con, "select sum(value_minor), sum(list_sum(deducted_minor)) from settlements")
    posted = (
        sum(ledger.get((number, what), 0) for number in numbers) for what in ("coffee", "deduction")
    )
    assert settled == [tuple(posted)]
    net = dict(rows(con, "select member_no, sum(net_kg) from member_coffee group by all"))
    assert net == {number: weight for number, weight in kg.items() if weight}
    assert broken_laws(con) == []


@pytest.mark.parametrize(
    ("query", "tampering"),
    [
        ("money_not_conserved", "update settlements set value_minor = value_minor + 1"),
        ("money_not_conserved", "update settlements set deducted_minor = [1]"),
        ("money_not_conserved", "delete from settlements where row_no = 2"),
        ("money_not_conserved", "update filled_payments set amount_minor = amount_minor + 1"),
        ("money_not_conserved", "delete from filled_payments"),
        ("money_not_conserved", "update member_season set paid_minor = paid_minor - 1"),
        ("money_not_conserved", "update member_season set balance_minor = balance_minor + 1"),
        ("money_not_conserved", "update valued set value_minor = value_minor + 1"),
        (
            "money_not_conserved",
            f"insert into exceptions values ('payments', {SHEETS['payments']}, 2, 'held', false)",
        ),
        (
            "more_taken_than_brought",
            "update settlements set deducted_minor = [value_minor + 1]",
        ),
        ("rows_not_conserved", "delete from filled_weighings where row_no = 2"),
        ("rows_not_conserved", "update sheets set arrived = arrived + 1"),
        ("rows_not_conserved", IN_TWO_STATES),
        # One row more makes up for one that is gone only where rows are counted by their states.
        ("rows_not_conserved", f"delete from filled_weighings where row_no = 2; {IN_TWO_STATES}"),
        ("counted_twice", "update filled_weighings set receipt_no = 7"),
        ("counted_twice", "insert into filled_payments from filled_payments"),
        ("counted_twice", "insert into filled_members from filled_members"),
    ],
)
def test_what_does_not_add_up_is_found(
    con: duckdb.DuckDBPyConnection, query: str, tampering: str
) -> None:
    price(con, FIRST, "1.0000")
    member(con, "1")
    weighing(con, "60")
    weighing(con, "40")
    put(
        con,
        "payments",
        payment_no="P",
        day=FIRST,
        member_no="1",
        amount_minor=100,
        method="cash",
    )
    work_out(con)
    asked = {"sheets": None} if query == "rows_not_conserved" else None
    assert rows(con, season_sql(query), asked) == []
    con.execute(tampering)
    assert rows(con, season_sql(query), asked)
    assert broken_laws(con) or query == "counted_twice"


def test_costs_in_the_statements_that_are_not_the_records_are_found(
    con: duckdb.DuckDBPyConnection,
) -> None:
    member(con, "1")
    record(con, "1", 500)
    work_out(con)
    con.execute("update member_season set record_cost_minor = record_cost_minor + 1")
    assert broken_laws(con)


def test_of_whose_money_was_worked_out_it_is_asked_whether_too_much_was_taken(
    con: duckdb.DuckDBPyConnection,
) -> None:
    """Of no others: their weighings stand as they stood when it was asked of them."""
    price(con, FIRST, "1.0000")
    member(con, "1")
    weighing(con, "60")
    work_out(con)
    con.execute("update settlements set deducted_minor = [value_minor + 1]")
    too_much = "more is taken of a weighing than it brought"
    assert too_much in broken_laws(con)
    assert too_much not in broken_laws(con, sums=True)
    copied = [Copied("settlements", "*", WHOSE)]
    for whose, broken in (["1"], True), (["2"], False):
        with apart(con, whose, copied=copied, written={}):
            assert (too_much in broken_laws_of_money(con)) == broken
