"""The typed tables of a season file and the views over them, made from the kinds' declarations."""

import hashlib
from collections.abc import Iterable
from functools import cache
from importlib import resources

import duckdb

from checks.near import LEDGER
from checks.rules.fingerprint import rules_hash
from pipeline.book.macros import keep_macros
from pipeline.intake.kinds import Kind, choice_words, kinds
from pipeline.intake.live import has_key, live_rows, row_key, stated_rows
from pipeline.intake.words import only_said
from pipeline.season.filled import make_table
from pipeline.season.tables import season_sql

STATES = ("counted", "held", "sent_back", "replaced", "left_out")
VIEWS = (
    *("lot_times", "weighings_valued", "accounts_agreed", "accounts_given", "records_left_out"),
    *("cost_rows", "member_cost"),
)

# What pairs rows, follows coffee and makes tables stands in code, not in SQL.
MADE_IN_CODE = {
    "pipeline.coffee": ("events", "heaps", "order", "walk"),
    "pipeline.intake": ("live", "stored"),
    "pipeline.season": (
        *("match", "match_best", "match_knots"),
        *("coffee", "coffee_halt", "filled", "money", "overlaps", "schema"),
    ),
}


@cache
def makings_hash() -> str:
    """Return the SHA-256 of what works a season file out: kinds, SQL, rules, limits, code."""
    digest = hashlib.sha256(rules_hash().encode())
    for package, folder in (
        ("pipeline.intake", "kinds"),
        ("pipeline.intake", "words"),
        ("pipeline.book", "sql"),
        ("pipeline.season", "sql"),
    ):
        entries = resources.files(package).joinpath(folder).iterdir()
        for entry in sorted(entries, key=lambda found: found.name):
            # What only says a result in words leaves the result as it is.
            spoken = folder == "words" and only_said(entry.name)
            if entry.name.endswith((".toml", ".sql")) and not spoken:
                digest.update(entry.read_bytes())
    for package, modules in MADE_IN_CODE.items():
        for module in modules:
            digest.update(resources.files(package).joinpath(f"{module}.py").read_bytes())
    return digest.hexdigest()


def create_tables(con: duckdb.DuckDBPyConnection) -> None:
    """Make the tables, views and formulas of an empty season file."""
    keep_macros(con)
    for choice in ("species", "form"):
        values = ", ".join(f"'{stored}'" for stored in choice_words(choice, "en"))
        con.execute(f"create type coffee_{choice} as enum ({values})")
    for schema in ("schema", "schema_days", "schema_money", "schema_yield"):
        sql = resources.files("pipeline.book").joinpath(f"sql/{schema}.sql")
        con.execute(sql.read_text("utf-8"))
    for kind in kinds().values():
        make_table(con, kind)
        con.execute(f"create view {kind.name} as {stated_rows(kind.name, f'rows_{kind.name}')}")
        con.execute(f"create view live_{kind.name} as {live_rows(kind, f'rows_{kind.name}')}")
    con.execute(f"create view sheet_states as {sheet_states(kinds())}")
    con.execute(f"create view stored_rows as {stored_rows(kinds())}")
    for view in LEDGER:
        con.execute(f"create view {view} as {season_sql(view)}")
    for view in VIEWS:
        con.execute(season_sql(view))
    con.execute(
        "create view known_plots as select distinct member_no, plot_no from plots "
        "where state in ('counted', 'held') order by member_no, plot_no"
    )


def sheet_states(names: Iterable[str], which: str = "true") -> str:
    """Return SQL for what became of each sheet's rows: one row a sheet, one column a state.

    `names`: the kinds whose rows are counted; `which`: SQL that picks sheets by their number.
    """
    others = STATES[1:]
    counts = ", ".join(f"count(*) filter (where state = '{state}') as {state}" for state in others)
    # A sheet of no known kind has no typed rows: all that arrived in it waits for the clerk.
    columns = ", ".join(
        "case when s.kind is null then s.arrived else coalesce(e.sent_back, 0) end as sent_back"
        if state == "sent_back"
        else f"coalesce(e.{state}, 0) as {state}"
        for state in others
    )
    return (
        "select s.sheet_no, s.name, s.kind, s.week, s.version, s.problem, s.arrived, "
        # Few rows are in another state: only these are looked at one by one.
        f"coalesce(r.stored, 0) - coalesce(e.others, 0) as counted, {columns}, "
        "case when s.kind is null then s.arrived else coalesce(r.stored, 0) end as in_states "
        f"from (from sheets where {which}) as s "
        f"left join ({stored_rows(names, which)}) as r on r.sheet_no = s.sheet_no "
        f"left join (select kind, sheet_no, count(*) as others, {counts} from exceptions "
        f"where {which} group by kind, sheet_no) as e "
        "on e.kind = s.kind and e.sheet_no = s.sheet_no"
    )


def stored_rows(names: Iterable[str], which: str = "true") -> str:
    """Return SQL for how many rows of some kinds the file holds: one row a kind and sheet of it."""
    none = "select 0 as sheet_no, 0 as stored where false"
    counts = (
        f"select sheet_no, count(*) as stored from rows_{name} where {which} group by sheet_no"
        for name in names
    )
    return " union all ".join([none, *counts])


def some_sheet_states(names: Iterable[str]) -> str:
    """Return `sheet_states` of some sheets alone, $sheets by their numbers, all of these kinds."""
    return sheet_states(names, "list_contains(cast($sheets as integer[]), sheet_no)")


def note_succession(con: duckdb.DuckDBPyConnection, kind: Kind) -> None:
    """Work out which rows of a kind a later version of their sheet replaces, or no longer has."""
    con.execute(
        "create or replace temp table numbered as select r.sheet_no, r.row_no, s.slot, s.version, "
        f"{row_key(kind)} as row_key, {has_key(kind)} as has_key, "
        f"row_number() over (partition by r.sheet_no, {row_key(kind)} order by r.row_no) "
        "as ordinal "
        f"from rows_{kind.name} r inner join sheets s on s.sheet_no = r.sheet_no "
        "where s.slot in (select slot from sheets where slot is not null group by slot "
        "having count(*) > 1)"
    )
    con.execute(
        season_sql("succession"),
        {"kind": kind.name, "replaces": kind.later_sheet == "replaces"},
    )
