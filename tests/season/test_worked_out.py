"""What a season file works out, on small tables and against the same sums done in Python."""

from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from random import Random
from typing import Any

import duckdb
import pytest

from pipeline.intake.kinds import kinds
from pipeline.season.refresh import broken_laws, write_settings
from pipeline.season.tables import connect, create_tables, rows, season_sql
from pipeline.settings import read_settings
from tests.take.small import SETTINGS

FIRST = date(2026, 3, 30)
MONEY = {"decimals": 2}
# Kilograms of each form that make one kilogram of green arabica.
A_KG_GREEN = {"parchment": Decimal("1.25"), "fresh_cherry": Decimal(6), "green": Decimal(1)}
SHEETS = {kind: number for number, kind in enumerate(kinds(), start=1)}
TWICE_DEDUCTED = (
    SETTINGS.partition("[[deduction]]")[0]
    + """
[[deduction]]
code = "levy"
name = "Levy"
authority = "Resolution 3"
percent = "1"

[[deduction]]
code = "school"
name = "School fund"
authority = "Resolution 4"
percent = "2.5"

[[deduction]]
code = "transport"
name = "Transport"
authority = "Resolution 5"
form = "fresh_cherry"
per_kg = "0.0150"
"""
)


@pytest.fixture
def con() -> Iterator[duckdb.DuckDBPyConnection]:
    with connect(":memory:", read_only=False, macros=True) as connection:
        create_tables(connection)
        write_settings(connection, read_settings(TWICE_DEDUCTED), "2026")
        for kind, sheet_no in SHEETS.items():
            connection.execute(
                "insert into sheets (sheet_no, sha256, name, kind, slot, version, taken_day, "
                "arrived) values (?, ?, ?, ?, ?, 1, date '2026-10-04', 0)",
                [sheet_no, *[kind] * 4],
            )
        yield connection


def put(con: duckdb.DuckDBPyConnection, kind: str, **cells: Any) -> int:
    """Add one row of a kind to the kind's sheet and return its number."""
    row_no = rows(con, f"select count(*) + 2 from rows_{kind}")[0][0]
    names = ["sheet_no", "row_no", *cells]
    con.execute(
        f"insert into rows_{kind} ({', '.join(names)}) values ({', '.join('?' * len(names))})",
        [SHEETS[kind], row_no, *cells.values()],
    )
    con.execute("update sheets set arrived = arrived + 1 where kind = ?", [kind])
    return row_no


def price(con: duckdb.DuckDBPyConnection, day: date, per_kg: str, form: str = "parchment") -> int:
    return put(
        con,
        "prices",
        from_day=day,
        species="arabica",
        form=form,
        grade="1",
        price_per_kg=Decimal(per_kg),
        list_no="PL",
    )


def weighing(
    con: duckdb.DuckDBPyConnection,
    kg: str,
    *,
    day: date = date(2026, 5, 4),
    member: str = "1",
    form: str = "parchment",
) -> int:
    number = rows(con, "select count(*) from rows_weighings")[0][0]
    return put(
        con,
        "weighings",
        station="KES",
        day=day,
        receipt_book="K01",
        receipt_no=number,
        line=1,
        member_no=member,
        species="arabica",
        form=form,
        grade="1",
        net_kg=Decimal(kg),
    )


def member(con: duckdb.DuckDBPyConnection, *numbers: str) -> None:
    for number in numbers:
        put(con, "members", member_no=number, name=f"Member {number}", station="KES")


def work_out(con: duckdb.DuckDBPyConnection) -> None:
    con.execute(season_sql("valued"), MONEY)
    con.execute(season_sql("transfers"), MONEY)
    con.execute(season_sql("member_coffee"))
    con.execute(season_sql("member_yield"))
    con.execute(season_sql("member_season"), MONEY)


def cents(exact: Decimal) -> int:
    return int(exact.quantize(Decimal(1), rounding=ROUND_HALF_UP))


def test_a_price_holds_from_its_day_until_the_next(con: duckdb.DuckDBPyConnection) -> None:
    first, second = price(con, date(2026, 4, 6), "1.0000"), price(con, date(2026, 5, 4), "1.2500")
    for day in (date(2026, 4, 5), date(2026, 4, 6), date(2026, 5, 3), date(2026, 5, 4)):
        weighing(con, "10.0", day=day)
    weighing(con, "10.0", day=date(2026, 9, 1), form="green")
    con.execute(season_sql("valued"), MONEY)
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
    con.execute(season_sql("valued"), MONEY)
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
    con.execute(season_sql("valued"), MONEY)
    con.execute(season_sql("transfers"), MONEY)
    assert rows(
        con, "select row_no, what, from_account, to_account, amount_minor from transfers"
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
            "insert into exceptions values ('weighings', ?, ?, ?)",
            [SHEETS["weighings"], row_no, state],
        )
    con.execute(
        "insert into exceptions values ('payments', ?, ?, 'held')", [SHEETS["payments"], paid[1]]
    )
    member(con, "1")
    work_out(con)
    assert rows(
        con,
        "select deliveries, value_minor, paid_minor, waiting_rows, waiting_kg from member_season",
    ) == [(1, 1000, 100, 2, Decimal("20.000"))]


def plot(
    con: duckdb.DuckDBPyConnection, no: str, counted: date, bearing: int | None, area: str = "0.5"
) -> None:
    put(
        con,
        "plots",
        member_no="1",
        plot_no=no,
        species="arabica",
        trees=1000,
        trees_bearing=bearing,
        area_ha=Decimal(area),
        counted_on=counted,
    )


def test_yield_is_by_the_latest_count_of_every_plot(con: duckdb.DuckDBPyConnection) -> None:
    price(con, FIRST, "1.0000")
    weighing(con, "125")
    plot(con, "1", date(2026, 4, 1), 60)
    plot(con, "1", date(2024, 4, 1), 999)
    plot(con, "2", date(2026, 4, 1), 40, "0.25")
    member(con, "1")
    work_out(con)
    # 100 kg green from 60 + 40 trees on 0.75 ha.
    assert rows(
        con,
        "select trees, trees_bearing, area_ha, gbe_per_tree_kg, gbe_per_ha_kg from member_yield",
    ) == [(2000, 100, Decimal("0.7500"), Decimal("1.000"), Decimal("133.3"))]


@pytest.mark.parametrize(("bearing", "area"), [(0, "0.5"), (None, "0.5")])
def test_without_bearing_trees_there_is_no_yield_a_tree(
    con: duckdb.DuckDBPyConnection, bearing: int | None, area: str
) -> None:
    price(con, FIRST, "1.0000")
    weighing(con, "125")
    plot(con, "1", date(2026, 4, 1), bearing, area)
    member(con, "1")
    work_out(con)
    assert rows(con, "select gbe_kg, gbe_per_tree_kg, gbe_per_ha_kg from member_yield") == [
        (Decimal("100.000"), None, Decimal("200.0"))
    ]


def record(con: duckdb.DuckDBPyConnection, number: str, cost: int | None, n: int = 0) -> None:
    put(
        con,
        "farm_record",
        member_no=number,
        day=date(2026, 5, 4) + timedelta(days=n),
        activity="weeding",
        cost_minor=cost,
    )


def test_no_record_gives_no_margin_and_never_nought(con: duckdb.DuckDBPyConnection) -> None:
    price(con, FIRST, "1.0000")
    for number in ("1", "2", "3"):
        weighing(con, "125", member=number)
    member(con, "1", "2", "3", "4")
    record(con, "2", None)
    record(con, "3", 2500)
    record(con, "4", 2500)
    work_out(con)
    assert rows(
        con,
        "select member_no, record_rows, record_cost_minor, margin_minor, margin_per_kg "
        "from member_season order by member_no",
    ) == [
        ("1", 0, None, None, None),
        # A record without a cost is a record: its costs are nought.
        ("2", 1, 0, 12500, Decimal("1.2500")),
        ("3", 1, 2500, 10000, Decimal("1.0000")),
        # Costs and no coffee: a loss, but none a kilogram.
        ("4", 1, 2500, -2500, None),
    ]


@pytest.mark.parametrize(
    "costs", [(500, 500), (127, 127), (30000, 30000), (1, 2, 3), (70000, 70000)]
)
def test_costs_add_up_however_many_rows_there_are(
    con: duckdb.DuckDBPyConnection, costs: tuple[int, ...]
) -> None:
    member(con, "1", "2", "3")
    for n, cost in enumerate(costs):
        record(con, "1", cost, n)
    work_out(con)
    assert rows(
        con, "select record_cost_minor, margin_minor from member_season where member_no = '1'"
    ) == [(sum(costs), -sum(costs))]


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
    for number, value, deducted, had, balance, cost, margin in rows(
        con,
        "select member_no, value_minor, deducted_minor, paid_minor, balance_minor, "
        "record_cost_minor, margin_minor from member_season",
    ):
        assert value == ledger.get((number, "coffee"), 0)
        assert deducted == ledger.get((number, "deduction"), 0)
        assert had == paid[number] == ledger.get((number, "payment"), 0)
        assert balance == value - deducted - had
        assert cost == (sum(costs[number]) if number in costs else None)
        assert margin == (None if cost is None else value - cost)
    net = dict(rows(con, "select member_no, sum(net_kg) from member_coffee group by all"))
    assert net == {number: weight for number, weight in kg.items() if weight}
    assert broken_laws(con) == []


@pytest.mark.parametrize(
    ("query", "tampering"),
    [
        ("money_not_conserved", "update transfers set amount_minor = amount_minor + 1"),
        ("money_not_conserved", "delete from transfers where what = 'payment'"),
        ("money_not_conserved", "update member_season set paid_minor = paid_minor - 1"),
        ("money_not_conserved", "update member_season set balance_minor = balance_minor + 1"),
        ("money_not_conserved", "update valued set value_minor = value_minor + 1"),
        (
            "money_not_conserved",
            f"insert into exceptions values ('payments', {SHEETS['payments']}, 2, 'held')",
        ),
        ("rows_not_conserved", "delete from rows_weighings where row_no = 2"),
        ("rows_not_conserved", "update sheets set arrived = arrived + 1"),
        ("counted_twice", "update rows_weighings set receipt_no = 7"),
        ("counted_twice", "insert into rows_payments from rows_payments"),
        ("counted_twice", "insert into rows_members from rows_members"),
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
    assert rows(con, season_sql(query)) == []
    con.execute(tampering)
    assert rows(con, season_sql(query))
    assert broken_laws(con) or query == "counted_twice"


def test_costs_in_the_statements_that_are_not_the_records_are_found(
    con: duckdb.DuckDBPyConnection,
) -> None:
    member(con, "1")
    record(con, "1", 500)
    work_out(con)
    con.execute("update member_season set record_cost_minor = record_cost_minor + 1")
    assert broken_laws(con)
