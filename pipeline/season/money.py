"""Works out the money of a season, or of some of its members: movements, deductions, what waits."""

from collections.abc import Mapping, Sequence
from decimal import Decimal

import duckdb

from checks.engine import came_in
from checks.near import ALSO_READ, LEDGER, MONEY_KINDS
from checks.views import in_place
from pipeline.declared_money import CHARGES, CREDIT, Deduction
from pipeline.season.apart import WHOSE, Copied, apart
from pipeline.season.laws import broken_laws_of_money
from pipeline.season.tables import rows, season_sql
from pipeline.settings import Settings

# The queries that work money out, in their order.
MONEY_SQL = (
    "money_weighings",
    "earned",
    "earned_of",
    "movements_entered",
    "movements_premiums",
    "earned_premiums",
    "earned_asked",
    "debts",
    "earned_in",
    "member_coffee",
    "waits",
    "targets_reached",
    "taken_at_once",
    "settled_at_once",
    "earned_waiting",
    "deduct",
    "repaid",
    "still_owed",
    "earned_left",
    "settled_waiting",
    "member_season",
)
# So many weighings find their values in memory beside what comes of all; more would be written to
# the disk meanwhile.
AT_ONCE = 5 * 10**6
OF_MEMBERS = ("settlements", "movements", "untaken", "member_coffee", "member_season")
# What money and its laws read of some members: which columns, where not all, and which rows.
READ_OF_MEMBERS = (
    Copied("members", "member_no, state", WHOSE),
    Copied(
        "weighings",
        ", ".join(("sheet_no", "row_no", "member_no", *ALSO_READ["weighings"], "state")),
        WHOSE,
    ),
    # A value names no member. By sheets first, since a pair of numbers is slower to look for.
    Copied(
        "valued",
        "*",
        "sheet_no in (select sheet_no from weighings) "
        "and (sheet_no, row_no) in (select (sheet_no, row_no) from weighings)",
    ),
    Copied(
        "payments",
        "sheet_no, row_no, day, member_no, payment_no, method, amount_minor, state",
        WHOSE,
    ),
    Copied("farm_record", "member_no, day, cost_minor, family_days, hired_days, state", WHOSE),
    Copied("opening_balances", "*", WHOSE),
    Copied("season_so_far", "*", WHOSE),
    Copied("credit", "*", WHOSE),
    Copied("second_payments", "*", WHOSE),
    Copied(
        "money_entries",
        "*",
        f"{WHOSE} or other_member in (select member_no from apart_members)",
    ),
)

# What money comes of says its row, and that is found sooner than whose it is.
_PLACES = " union all ".join(
    f"select sheet_no, row_no from {kind}"
    for kind in MONEY_KINDS
    if kind not in ("members", "payments")
)
_OF_PLACES = (
    f"sheet_no in (select sheet_no from ({_PLACES})) "
    f"and row_no in (select row_no from ({_PLACES})) "
    f"and (sheet_no, row_no) in (select (sheet_no, row_no) from ({_PLACES}))"
)
WRITTEN_OF_MEMBERS = {table: WHOSE for table in OF_MEMBERS} | {
    "settlements": _OF_PLACES,
    "movements": _OF_PLACES,
}


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
    con: duckdb.DuckDBPyConnection,
    settings: Settings,
    members: Sequence[str] | None = None,
    found: Mapping[str, str] | None = None,
) -> list[str]:
    """Fill the ledger, `untaken` and the members' totals for all, or anew for these members alone.

    Needs the rows' states and `valued`. A member's money rests on that member's rows and no
    other's, so that working some out anew gives what working all out gives; of those between whom
    money was moved, all are named; `found`: SQL of rows of theirs that were found before, by the
    table or view that has them all. Returns a sentence for each law that these members' money
    breaks; for all members the laws are not asked here.
    """
    if members is None:
        for table in OF_MEMBERS:
            con.execute(f"delete from {table}")
        _post(con, settings, "view")
        return []
    # Of other kinds there is no row, of these members or of any: an empty copy is read sooner.
    here = {*came_in(con), "valued"}
    copied = [one if one.name in here else one._replace(which="false") for one in READ_OF_MEMBERS]
    copied = [one._replace(of=(found or {}).get(one.name, "")) for one in copied]
    with (
        apart(con, members, copied=copied, written=WRITTEN_OF_MEMBERS),
        in_place(con, {view: season_sql(view) for view in LEDGER}),
    ):
        _post(con, settings, "table")
        con.execute("create or replace temp table members_anew as from apart_members")
        for view in LEDGER:
            con.execute(f"create or replace temp table {view}_anew as from {view}")
        return broken_laws_of_money(con)


def _post(con: duckdb.DuckDBPyConnection, settings: Settings, held: str) -> None:
    """Fill the tables of money, which are empty, by the rows that stand in those that are read.

    `held`: "view" or "table", in which what deductions ask stands for as long.
    """
    numbers = {"decimals": settings.decimals}
    each = rows(con, "select takes, form, percent, per_kg from deductions order by position")
    asked = [_asked(*one).replace("$decimals", str(settings.decimals)) for one in each]
    of_shares = [
        one if takes == "shares" else season_sql("asked_nothing")
        for one, (takes, *_) in zip(asked, each, strict=True)
    ]

    def of_each(shares: str, other: str) -> list[str]:
        return [
            season_sql(shares if takes == "shares" else other).replace("$position", str(n))
            for n, (takes, *_) in enumerate(each, start=1)
        ]

    past, within = of_each("asked_past", "asked_as_is"), of_each("asked_within", "asked_as_is")
    con.execute(season_sql("money_weighings"))
    con.execute(season_sql("earned"))
    most = AT_ONCE if held == "view" else None
    for first, last in rows(con, season_sql("sheets_in_runs"), {"most": most}):
        con.execute(season_sql("earned_of"), numbers | {"first": first, "last": last})
    con.execute(season_sql("movements_entered"))
    if rows(con, "select 1 from premiums limit 1"):
        con.execute(season_sql("movements_premiums"), numbers)
        con.execute(season_sql("earned_premiums"))
    con.execute(_of_each("earned_asked", each=asked).replace("$held", held))
    con.execute(season_sql("debts"))
    con.execute(_of_each("earned_in", each_most=of_each("asked_most", "asked_nothing")))
    con.execute(season_sql("member_coffee"))
    con.execute(season_sql("waits"))
    con.execute(_of_each("targets_reached", each_shares=of_shares))
    con.execute(_of_each("taken_at_once", each_past=past, each_within=within))
    con.execute(season_sql("settled_at_once"))
    con.execute(season_sql("earned_waiting"))
    con.execute(f"drop {held} earned_asked")
    _queue(con)
    con.execute(season_sql("settled_waiting"))
    text = season_sql("member_season")
    for takes in (CREDIT, "shares"):
        text = text.replace(f"${takes}", _taken(takes, [one for one, *_ in each]))
    con.execute(text)
    con.execute("drop macro table taken_at_once; drop macro up_to_target")
    con.execute("drop view money_weighings")
    for table in ("earned", "step", "debts", "earned_in", "waits", "targets_reached"):
        con.execute(f"drop table if exists {table}")


def _asked(takes: str, form: str | None, percent: object, per_kg: object) -> str:
    """Return the SQL of what a deduction asks of a weighing."""
    if takes in (CREDIT, CHARGES):
        return season_sql("asked_nothing")
    # To bind a formula that is not asked for takes as long as to ask it of a member.
    if percent is not None:
        text = season_sql("asked_percent").replace("$percent", f"{percent}::decimal(7, 4)")
    elif per_kg is not None:
        text = season_sql("asked_per_kg").replace("$per_kg", f"{per_kg}::decimal(14, 4)")
    else:
        return season_sql("asked_nothing")
    return text.replace("$form", f"'{form}'" if form else "null")


def _of_each(name: str, **parts: Sequence[str]) -> str:
    """Return a query that asks something of each deduction, in their order: SQL each by name."""
    text = season_sql(name)
    for where, several in parts.items():
        text = text.replace(f"[${where}]", f"[{', '.join(several)}]")
    return text


def _taken(takes: str, each: Sequence[str]) -> str:
    """Return the SQL of what the deductions that take something took of a settlement."""
    positions = [position for position, one in enumerate(each, start=1) if one == takes]
    return " + ".join(f"deducted_minor[{position}]" for position in positions) or "0"


def _queue(con: duckdb.DuckDBPyConnection) -> None:
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
        con.execute(season_sql("deduct"), {"position": position, "shares": takes == "shares"})
        con.execute(season_sql("repaid"), {"deduction": deduction})
        con.execute(season_sql("still_owed"), {"deduction": deduction, "position": position})
        con.execute(season_sql("earned_left"), {"position": position})
