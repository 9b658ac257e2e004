"""Works out the money of a season, or of some of its members: movements, deductions, what waits."""

from collections.abc import Collection
from decimal import Decimal

import duckdb

from pipeline.declared_money import CHARGES, CREDIT, Deduction
from pipeline.season.tables import rows, season_sql
from pipeline.settings import Settings

# The queries that work money out, in their order.
MONEY_SQL = (
    "earned",
    "member_coffee",
    "transfers_coffee",
    "transfers_premiums",
    "earned_premiums",
    "transfers_entries",
    "debts",
    "waits",
    "deducted_at_once",
    "shares_at_once",
    "earned_waiting",
    "deduct",
    "deducted",
    "still_owed",
    "earned_left",
    "member_season",
)
# The kinds of sheets that money is worked out from.
MONEY_KINDS = (
    "members",
    "weighings",
    "payments",
    "opening_balances",
    "season_so_far",
    "credit",
    "money_entries",
    "second_payments",
)
OF_MEMBERS = ("transfers", "untaken", "member_coffee", "member_season")


def deductions_in_order(settings: Settings) -> tuple[Deduction, ...]:
    """Return the deductions of the book, with one more for what none of them is declared to take.

    Charges are then taken last of all; loans are not taken from coffee, only repaid in cash.
    """
    declared = settings.deductions
    named, taken = {one.code for one in declared}, {one.takes for one in declared}
    added: list[Deduction] = []
    if CREDIT not in taken:
        code = CREDIT if CREDIT not in named else f"{CREDIT}-in-cash"
        kept = Decimal(100)
        added.append(_undeclared(code, "Loans and inputs on credit", CREDIT, kept))
    if CHARGES not in taken:
        code = CHARGES if CHARGES not in named else f"{CHARGES}-due"
        added.append(_undeclared(code, "Charges", CHARGES, Decimal(0)))
    return (*declared, *added)


def _undeclared(code: str, name: str, takes: str, keep: Decimal) -> Deduction:
    return Deduction(
        code=code,
        name=name,
        authority="as each note or charge names it",
        takes=takes,
        keep_percent=keep,
    )


def write_money_settings(con: duckdb.DuckDBPyConnection, settings: Settings) -> None:
    """Put deductions and premiums into their tables."""
    for position, d in enumerate(deductions_in_order(settings), start=1):
        con.execute(
            "insert into deductions values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            [
                position,
                *(d.code, d.name, d.authority, d.form or None, d.percent, d.per_kg),
                *(d.takes, d.until_minor, d.keep_percent),
            ],
        )
    for position, p in enumerate(settings.premiums, start=1):
        con.execute(
            "insert into premiums values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            [
                position,
                *(p.code, p.name, p.authority, p.discount, p.percent, p.per_kg),
                *(one or None for one in (p.species, p.form, p.grade, p.station, p.certificate)),
                *(p.from_day, p.until_day, p.ripe_from, p.moisture_above),
            ],
        )


def work_out_money(
    con: duckdb.DuckDBPyConnection, settings: Settings, members: Collection[str] | None = None
) -> None:
    """Fill `transfers`, `untaken` and the members' totals for all, or anew for these members alone.

    Needs the rows' states and `valued`. A member's money rests on that member's rows and no
    other's, so that working some out anew gives what working all out gives.
    """
    _choose(con, members)
    numbers = {"decimals": settings.decimals}
    con.execute(season_sql("earned"))
    con.execute(season_sql("member_coffee"))
    con.execute(season_sql("transfers_coffee"))
    if rows(con, "select 1 from premiums limit 1"):
        con.execute(season_sql("transfers_premiums"), numbers)
        con.execute(season_sql("earned_premiums"))
    con.execute(season_sql("transfers_entries"))
    con.execute(season_sql("debts"))
    con.execute(season_sql("waits"), numbers)
    con.execute(season_sql("deducted_at_once"), numbers)
    con.execute(season_sql("shares_at_once"), numbers)
    con.execute(season_sql("earned_waiting"))
    _queue(con, numbers)
    con.execute(season_sql("member_season"))
    con.execute("drop view money_weighings")
    for table in ("earned", "step", "debts", "waits", "money_members"):
        con.execute(f"drop table if exists {table}")


def _queue(con: duckdb.DuckDBPyConnection, numbers: dict[str, int]) -> None:
    """Take each deduction in its order from the members of whom one may have to wait."""
    owed = {position for (position,) in rows(con, "select distinct position from debts")}
    waiting = rows(
        con,
        "select position, deduction, takes from deductions "
        "where position >= (select min(position) from waits) order by position",
    )
    for position, deduction, takes in waiting:
        if takes in (CREDIT, CHARGES) and position not in owed:
            continue
        con.execute(
            season_sql("deduct"), {"position": position, "shares": takes == "shares"} | numbers
        )
        con.execute(season_sql("deducted"), {"deduction": deduction})
        con.execute(season_sql("still_owed"), {"deduction": deduction, "position": position})
        con.execute(season_sql("earned_left"), {"position": position})


def _choose(con: duckdb.DuckDBPyConnection, members: Collection[str] | None) -> None:
    """Say whose money is worked out, and take away what stands there for them."""
    con.execute("create or replace temp table money_members (member_no varchar)")
    if members is None:
        con.execute(
            "insert into money_members select member_no from members union "
            "select member_no from weighings where member_no is not null union "
            "select member_no from payments where member_no is not null union "
            "select member_no from opening_balances where member_no is not null union "
            "select member_no from season_so_far where member_no is not null union "
            "select member_no from credit where member_no is not null union "
            "select member_no from money_entries where member_no is not null union "
            "select other_member from money_entries where other_member is not null union "
            "select member_no from second_payments where member_no is not null"
        )
        for table in OF_MEMBERS:
            con.execute(f"delete from {table}")
    else:
        con.execute("insert into money_members select unnest($members)", {"members": list(members)})
        for table in OF_MEMBERS:
            con.execute(
                f"delete from {table} where member_no in (select member_no from money_members)"
            )
    only = "" if members is None else " and member_no in (select member_no from money_members)"
    con.execute(
        "create or replace temp view money_weighings as select sheet_no, row_no, day, member_no, "
        "species, form, grade, station, net_kg, moisture_pct, ripe_pct, certificate "
        f"from weighings where state = 'counted'{only}"
    )
