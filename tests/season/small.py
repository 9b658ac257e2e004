"""Rows put straight into a season's tables, and what is worked out from them."""

from collections.abc import Generator
from contextlib import contextmanager
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import duckdb

from pipeline.intake.kinds import kinds
from pipeline.season.coffee import work_out_coffee
from pipeline.season.filled import hold
from pipeline.season.money import work_out_money
from pipeline.season.schema import create_tables
from pipeline.season.tables import connect, rows, season_sql
from pipeline.season.written_settings import write_settings
from pipeline.settings import Settings, read_settings
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


def begin_season(con: duckdb.DuckDBPyConnection, settings: Settings) -> None:
    """Make the tables of a season that has an empty sheet of each kind."""
    create_tables(con)
    write_settings(con, settings, "2026")
    for kind, sheet_no in SHEETS.items():
        con.execute(
            "insert into sheets (sheet_no, sha256, name, kind, slot, version, taken_day, arrived) "
            "values (?, ?, ?, ?, ?, 1, date '2026-10-04', 0)",
            [sheet_no, *[kind] * 4],
        )


@contextmanager
def empty_season(book: str = TWICE_DEDUCTED) -> Generator[duckdb.DuckDBPyConnection]:
    """A season in memory under the settings of a book.toml, with an empty sheet of each kind."""
    with connect(":memory:", read_only=False, macros=True) as con:
        begin_season(con, read_settings(book))
        yield con


def put(con: duckdb.DuckDBPyConnection, kind: str, **cells: Any) -> int:
    """Add one row of a kind to the kind's sheet and return its number."""
    row_no = rows(con, f"select count(*) + 2 from rows_{kind}")[0][0]
    names = ["sheet_no", "row_no", *cells]
    hold(con, kinds()[kind], cells)
    con.execute(
        f"insert into filled_{kind} ({', '.join(names)}) values ({', '.join('?' * len(names))})",
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
    **more: Any,
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
        **more,
    )


def member(con: duckdb.DuckDBPyConnection, *numbers: str) -> None:
    for number in numbers:
        put(con, "members", member_no=number, name=f"Member {number}", station="KES")


def valued(con: duckdb.DuckDBPyConnection) -> None:
    con.execute(season_sql("lot_steps"))
    con.execute(season_sql("green_basis"), {"measured": False, "least_g": 0})
    con.execute(season_sql("valued"), MONEY)


def work_out(con: duckdb.DuckDBPyConnection) -> None:
    valued(con)
    con.execute(season_sql("coffee_days"))
    work_out_coffee(con)
    work_out_money(con, read_settings(TWICE_DEDUCTED))
    con.execute(season_sql("block_yield"))
    con.execute(season_sql("member_yield"))


def cents(exact: Decimal) -> int:
    return int(exact.quantize(Decimal(1), rounding=ROUND_HALF_UP))


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


def record(con: duckdb.DuckDBPyConnection, number: str, cost: int | None, n: int = 0) -> None:
    put(
        con,
        "farm_record",
        member_no=number,
        day=date(2026, 5, 4) + timedelta(days=n),
        activity="weeding",
        cost_minor=cost,
    )
