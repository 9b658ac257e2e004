"""The steps of a season that are about money: what coffee is worth, and what is posted for it."""

import duckdb

from checks.near import LEDGER, MONEY_KINDS
from checks.near_rows import found_of
from checks.views import in_place
from pipeline.intake.kinds import kinds
from pipeline.intake.live import stated_rows
from pipeline.season.money import MONEY_SQL, OF_MEMBERS, work_out_money
from pipeline.season.only import only_touched
from pipeline.season.reads import sql_reads
from pipeline.season.replace import emptied
from pipeline.season.steps import Steps
from pipeline.season.tables import rows, season_sql
from pipeline.settings import Settings

# Of more members than these, the copies of their rows cost what working all of them out does.
MANY = 20_000


def value_coffee(con: duckdb.DuckDBPyConnection, steps: Steps, settings: Settings) -> None:
    """Value coffee by what comes before it: the price list, and the outturn of the lots."""
    measured = settings.basis.green == "measured"
    basis = {"measured": measured, "least_g": int(settings.basis.least_kg * 1000)}

    def green_basis(con: duckdb.DuckDBPyConnection) -> None:
        # Steps of its own: those that are kept go by the states that rows have when it is followed.
        con.execute("delete from green_basis")
        with emptied(con, ("coffee_days", "lot_steps")):
            if measured:
                # No weighing has its state yet: each counts.
                counted = "select *, 'counted'::row_state as state from live_weighings"
                with in_place(con, {"weighings": counted}):
                    con.execute(season_sql("coffee_days"))
                    con.execute(season_sql("lot_steps"))
            con.execute(season_sql("green_basis"), basis)

    made = {"weighings", "coffee_days", "lot_steps", "green_basis"}
    read = sql_reads("lot_steps", "green_basis") - made
    steps.step(
        "green_basis",
        read | {"live_weighings"} if measured else (),
        lambda: green_basis(con),
        writes=["green_basis"],
        given=basis,
    )
    decimals = {"decimals": settings.decimals}

    def touched() -> None:
        # What is valued already stays; a row that is touched is valued anew, if it is still there.
        con.execute(season_sql("valued_touched"))
        with only_touched(con, "weighings"):
            con.execute(season_sql("valued"), decimals)

    steps.fill("valued", decimals, in_part=touched, rows_of=["live_weighings"])


def post_money(con: duckdb.DuckDBPyConnection, steps: Steps, settings: Settings) -> None:
    """Work money out: of all members, or where only rows of some changed, of these."""
    # Deliveries are counted there, members' own records of them are not read.
    reads = (sql_reads(*MONEY_SQL) | {*MONEY_KINDS}) - {*OF_MEMBERS, "deliveries"}
    whose = sorted(reads & {kind for kind in kinds() if kinds()[kind].has("member_no")})

    con.execute("create or replace temp table members_anew (member_no varchar)")
    for view in LEDGER:
        con.execute(f"create or replace temp table {view}_anew as from {view} limit 0")

    def of_all() -> None:
        steps.touched.paid = None
        work_out_money(con, settings)

    def of_some() -> None:
        touched = steps.touched.members(whose)
        members = [no for (no,) in rows(con, season_sql("moved_between"), {"members": touched})]
        if len(members) > MANY:
            steps.use_all_cores()
            of_all()
            return
        steps.touched.paid = members
        weighings = stated_rows("weighings", found_of(con, "weighings", members))
        steps.broken += work_out_money(con, settings, members, {"weighings": f"({weighings})"})

    steps.step(
        "money",
        reads,
        of_all,
        writes=(*OF_MEMBERS, *LEDGER),
        in_part=of_some,
        rows_of=whose,
    )
