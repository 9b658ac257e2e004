"""Works out a season from its typed rows and decisions: states, matches, coffee, money, notes."""

from collections.abc import Callable

import duckdb

from checks.engine import (
    COFFEE_CODES,
    came_in,
    decided_about_coffee,
    find_coffee,
    forget_coffee,
    forget_set_aside,
    looks_at,
    note_decided,
    set_aside,
    settle_coffee,
    settle_rows,
)
from checks.rule import COFFEE, ROWS, SEASON
from pipeline.coffee.events import FOLLOWED, Row
from pipeline.errors import ConservationError
from pipeline.intake.kinds import kinds
from pipeline.season.beside import Beside
from pipeline.season.in_part import fill_by_day, fill_by_member, fill_by_sheet, look, match
from pipeline.season.laws import broken_laws, broken_laws_of_rows
from pipeline.season.paid import post_money, value_coffee
from pipeline.season.reads import reads_of, sql_reads
from pipeline.season.schema import note_succession
from pipeline.season.steps import Steps, fill_anew
from pipeline.season.tables import rows, season_sql
from pipeline.settings import Settings

COFFEE_SQL = ("lot_steps", "coffee_bought", "coffee_sold", "coffee_counted")


def work_out(
    con: duckdb.DuckDBPyConnection,
    settings: Settings,
    *,
    told: Callable[[str], None] | None = None,
    at_once: bool = False,
) -> Steps:
    """Work out, from the typed rows and the decisions, everything else that the file holds.

    Only what hangs on something that changed since the last time is worked out again. States are
    set anew each time, from flags and decisions, so that every step sees of them what it would see
    the first time. Returns the steps: which ran, and where only what states and money hang on is
    worked out `at_once`, which wait. `told` is called with the name of each before it runs; where
    the file is written in a transaction and not `at_once`, it ends this and begins another.
    ConservationError where the result does not add up.
    """
    steps = Steps(con, told, at_once=at_once)
    forget_set_aside(con)
    decided = note_decided(con)
    here = came_in(con)
    followed = [kind for kind in FOLLOWED if kind in here]
    in_turn = Beside(con, alone=True)
    # What is worked out at once is one transaction, which no other connection looks into.
    in_one = at_once or steps.cores == 1
    for kind in here:
        _succession(con, steps, kind)
    fill_by_sheet(con, steps, "weighed_sheets")
    steps.step(
        "numbers_off", ["rows_members"], lambda: _note_numbers_off(con), writes=["numbers_off"]
    )
    for kind in kinds():
        if kind == "weighings":
            value_coffee(con, steps, settings)
        if kind == "deliveries":
            # Weighings have their states by now.
            fill_by_day(con, steps, "coffee_days", in_turn)
        elif kind in here:
            look(con, steps, kind, ROWS, in_turn)
            _settle(con, steps, kind, decided.get(kind))
        if kind == "members":
            steps.fill("known_members")
    broken: list[str] = []
    with (
        Beside(con, alone=in_one) as coffee,
        Beside(con, steps.touched.lend, alone=in_one or not steps.touched.few) as records,
        Beside(con, steps.touched.lend, alone=in_one) as costs,
    ):
        _follow(con, steps, followed, coffee)
        _look_at_records(con, steps, here, records)
        post_money(con, steps, settings)
        _costs(con, steps, settings, costs)
        fill_by_member(steps, "block_yield", in_turn)
        fill_by_member(steps, "member_yield", in_turn)
        if coffee.wait() | records.wait() | costs.wait() and told:
            # Until then the file is seen without what they wrote.
            told("coffee, records and costs")
    steps.stated(*followed, anew=True)
    if "deliveries" in here:
        _settle(con, steps, "deliveries", decided.get("deliveries"))
    with (
        Beside(con, steps.touched.lend, alone=in_one) as notes,
        Beside(con, steps.touched.lend, alone=in_one) as weighings,
    ):
        for kind in here:
            if kind != "payments":
                look(con, steps, kind, SEASON, weighings if kind == "weighings" else notes)
        if told:
            told("laws of conservation")
        notes.begin(lambda other: _broken_laws(other, steps, at_once), broken.extend)
        if "payments" in here:
            # Here is what was just found and worked out of members' money.
            look(con, steps, "payments", SEASON, in_turn)
        if notes.wait() | weighings.wait() and told:
            told("notes and laws")
    if not {*steps.ran}.isdisjoint(f"notes on {kind}" for kind in here):
        note_decided(con)
    steps.keep()
    if broken:
        raise ConservationError(
            "The book does not add up and was left as it was: " + "; ".join(broken)
        )
    return steps


def _broken_laws(con: duckdb.DuckDBPyConnection, steps: Steps, at_once: bool) -> list[str]:
    """Ask the laws of everything; `at_once` only of what was touched, and of all of it later."""
    if at_once and steps.touched.few and steps.touched.paid is not None:
        return steps.broken + broken_laws_of_rows(con, steps.touched.sheets())
    coffee = "coffee" not in steps.waiting
    return steps.broken + broken_laws(con, coffee=coffee, sums=steps.touched.paid is not None)


def _succession(con: duckdb.DuckDBPyConnection, steps: Steps, kind: str) -> None:
    """Note which rows of a kind later versions of their sheets replace."""

    def run() -> None:
        con.execute("delete from succession where kind = ?", [kind])
        later = "select 1 from sheets where kind = ? and version > 1 limit 1"
        if rows(con, later, [kind]):
            note_succession(con, kinds()[kind])

    steps.step(f"succession of {kind}", [f"rows_{kind}"], run)


def _settle(
    con: duckdb.DuckDBPyConnection, steps: Steps, kind: str, decided: list[int] | None
) -> None:
    """Set the states of a kind's rows by what was found; `decided`: sheets whose flags were."""
    anew = not {*steps.ran}.isdisjoint({f"succession of {kind}", f"rules on {kind}"})
    if anew or decided:
        with steps.touched.noting_states(kind):
            settle_rows(con, kind, None if anew else decided)
    steps.stated(kind, anew=anew or bool(decided))


def _look_at_records(
    con: duckdb.DuckDBPyConnection, steps: Steps, here: list[str], beside: Beside
) -> None:
    """Match members' records and look at them, and bring up what readings are counted by days."""
    match(con, steps, beside)
    if "deliveries" in here:
        look(con, steps, "deliveries", ROWS, beside)
    fill_by_day(con, steps, "scale_days", beside)
    fill_by_day(con, steps, "weight_weeks", beside, span="week")
    fill_by_day(con, steps, "moisture_days", beside)


def _costs(
    con: duckdb.DuckDBPyConnection, steps: Steps, settings: Settings, beside: Beside
) -> None:
    """Work out what the season cost and what it left."""
    decided = rows(
        con,
        "select sheet_no, row_no, decision_n from decisions where action = 'count' "
        "and rule = 'cost-far-from-peers' order by decision_n",
    )
    steps.step(
        "costs_apart",
        sql_reads("costs_apart"),
        lambda: beside.begin(lambda other: fill_anew(other, "costs_apart")),
        writes=["member_cost"],
        given=decided,
        can_wait=True,
    )
    fill_by_member(steps, "member_margin", beside, {"decimals": settings.decimals})
    steps.step(
        "plot_overlaps",
        sql_reads("boundaries"),
        lambda: beside.begin(_note_overlaps),
        writes=["plot_overlaps"],
        can_wait=True,
    )


def _follow(
    con: duckdb.DuckDBPyConnection, steps: Steps, followed: list[str], beside: Beside
) -> None:
    """Begin to follow the coffee."""
    written = ("lot_steps", "coffee_moves", "coffee_origins", "coffee_aside")
    reads = sql_reads(*COFFEE_SQL) | reads_of(*(looks_at(kind, COFFEE) for kind in followed))
    decided = rows(
        con,
        "select flag, value_hash, action, decision_n from decisions "
        "where list_contains(?, rule) order by decision_n",
        [COFFEE_CODES],
    )

    def run() -> None:
        lots: list[str] | None = None
        if steps.touched.few and steps.touched.keys_stay:
            lots = [lot for (lot,) in rows(con, season_sql("lots_touched"))]
        beside.begin(lambda other: _settle_coffee(other, followed, lots))

    steps.step("coffee", reads - {*written}, run, writes=written, given=decided, can_wait=True)
    if "coffee" not in steps.ran:
        # Nothing changed, or it waits: rows are set aside as they were.
        set_aside(con)


def _settle_coffee(
    con: duckdb.DuckDBPyConnection, followed: list[str], lots: list[str] | None
) -> None:
    """Follow the coffee until what was decided about rows that were set aside is all applied.

    `lots`: those whose cards or weighings changed, None for all.
    """
    # What a decision leaves waiting takes longer to load than its money to work out.
    from pipeline.season.coffee import work_out_coffee

    again = True
    forced: set[Row] = set()
    without: set[Row] = set()
    while True:
        if lots is not None:
            con.execute(season_sql("lots_to_follow"), {"touched": lots, "codes": COFFEE_CODES})
        forget_coffee(con, all_of_it=again)
        again = False
        work_out_coffee(con, forced, in_part=lots is not None)
        for kind in followed:
            find_coffee(con, kind)
            settle_coffee(con, kind)
        counted = decided_about_coffee(con, "count")
        left_out = decided_about_coffee(con, "leave-out")
        if counted <= forced and left_out <= without:
            return
        forced |= counted
        without |= left_out


def _note_overlaps(con: duckdb.DuckDBPyConnection) -> None:
    from pipeline.season.overlaps import note_overlaps

    con.execute("delete from plot_overlaps")
    note_overlaps(con)


def _note_numbers_off(con: duckdb.DuckDBPyConnection) -> None:
    from pipeline.numbers import member_check_ok

    con.execute("delete from numbers_off")
    numbers = rows(con, "select distinct member_no from rows_members where member_no is not null")
    off = [[number] for (number,) in numbers if not member_check_ok(number)]
    if off:
        con.executemany("insert into numbers_off values (?)", sorted(off))
