"""The typed tables of a season file and the views over them, made from the kinds' declarations."""

import hashlib
from functools import cache
from importlib import resources
from typing import Any

import duckdb
import polars as pl

from checks.rules.fingerprint import rules_hash
from pipeline.book.macros import load_macros
from pipeline.intake.cells import sql_type
from pipeline.intake.kinds import Kind, kinds
from pipeline.intake.live import has_key, live_rows, row_key
from pipeline.intake.words import only_said

# What DuckDB may hold while a season is worked out; what it sorts beyond that goes, for as long, to
# a folder beside the file. Three times as much saved no time at two million deliveries.
WORKING_MEMORY = "750MB"


@cache
def season_sql(name: str) -> str:
    """Return the text of one named query of this package."""
    return resources.files("pipeline.season").joinpath(f"sql/{name}.sql").read_text("utf-8")


@cache
def makings_hash() -> str:
    """Return the SHA-256 of all that a season file is worked out by: kinds, SQL, rules, limits."""
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
    for module in ("match", "match_best", "match_knots"):
        # What pairs rows stands in code, not in SQL.
        digest.update(resources.files("pipeline.season").joinpath(f"{module}.py").read_bytes())
    return digest.hexdigest()


def create_tables(con: duckdb.DuckDBPyConnection) -> None:
    """Make the tables and views of an empty season file."""
    for schema in ("schema", "schema_money", "schema_yield"):
        sql = resources.files("pipeline.book").joinpath(f"sql/{schema}.sql")
        con.execute(sql.read_text("utf-8"))
    for kind in kinds().values():
        columns = ", ".join(f"{column.stored} {sql_type(column)}" for column in kind.columns)
        con.execute(f"create table rows_{kind.name} (sheet_no integer, row_no integer, {columns})")
        con.execute(
            f"create view {kind.name} as select r.*, coalesce(e.state, 'counted'::row_state) "
            f"as state from rows_{kind.name} r left join exceptions e on e.kind = '{kind.name}' "
            "and e.sheet_no = r.sheet_no and e.row_no = r.row_no"
        )
        con.execute(f"create view live_{kind.name} as {live_rows(kind, f'rows_{kind.name}')}")
    con.execute(_sheet_states())
    for view in ("lot_times", "weighings_valued", "accounts_agreed", "accounts_given"):
        con.execute(season_sql(view))
    con.execute(
        "create view known_plots as select distinct member_no, plot_no from plots "
        "where state in ('counted', 'held') order by member_no, plot_no"
    )
    con.execute(
        "create view known_members as select member_no, any_value(name) as name, "
        "any_value(station) as station from members where state in ('counted', 'held') "
        "group by member_no"
    )


def _sheet_states() -> str:
    """Return the view of what became of each sheet's rows: one row a sheet, one column a state."""
    states = ("counted", "held", "sent_back", "replaced", "left_out")
    counts = ", ".join(f"count(*) filter (where state = '{state}') as {state}" for state in states)
    by_kind = " union all ".join(
        f"select sheet_no, {counts} from {name} group by sheet_no" for name in kinds()
    )
    # A sheet of no known kind has no typed rows: all that arrived in it waits for the clerk.
    columns = ", ".join(
        "case when s.kind is null then s.arrived else coalesce(k.sent_back, 0) end as sent_back"
        if state == "sent_back"
        else f"coalesce(k.{state}, 0) as {state}"
        for state in states
    )
    return (
        "create view sheet_states as select s.sheet_no, s.name, s.kind, s.week, s.version, "
        f"s.problem, s.arrived, {columns}, "
        "case when s.kind is null then s.arrived else coalesce("
        f"{' + '.join(f'k.{state}' for state in states)}, 0) end as in_states "
        f"from sheets s left join ({by_kind}) k on k.sheet_no = s.sheet_no"
    )


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


def connect(
    path: str, *, read_only: bool = True, macros: bool = False, threads: int = 0
) -> duckdb.DuckDBPyConnection:
    """Open a season file; `macros` makes the trade's formulas known to what works it out."""
    con = duckdb.connect(path, read_only=read_only)
    refuse_wrong_sums(con)
    # A Python variable must never stand for a table that is missing.
    con.execute("set python_enable_replacements = false")
    con.execute("set enable_progress_bar = false")
    if not read_only:
        con.execute(f"set memory_limit = '{WORKING_MEMORY}'")
    if threads:
        con.execute(f"set threads = {int(threads)}")
    if macros:
        load_macros(con)
    return con


def dicts(
    con: duckdb.DuckDBPyConnection, query: str, parameters: Any = None
) -> list[dict[str, Any]]:
    """Return a query's rows with the names of their columns."""
    cursor = con.execute(query, parameters)
    names = [str(column[0]) for column in cursor.description or ()]
    return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]


def refuse_wrong_sums(con: duckdb.DuckDBPyConnection) -> None:
    """Keep DuckDB from working with wrong bounds of sums; every connection that adds up needs it.

    DuckDB 2.0.1 takes coalesce(sum(x), 0) for no larger than the largest single x: a filter on it
    then drops rows, and a join gives 60 000 back as 96. tests/season holds the smallest case.
    """
    con.execute("set disabled_optimizers = 'statistics_propagation'")


def register_frame(con: duckdb.DuckDBPyConnection, name: str, frame: pl.DataFrame) -> None:
    """Let queries of a connection read a frame under a name, until it is unregistered."""
    con.register(name, _arrow(frame))


def insert_frame(con: duckdb.DuckDBPyConnection, table: str, frame: pl.DataFrame) -> None:
    """Insert a frame's rows into a table, column by column in their order.

    A registered name would not do in a long transaction: DuckDB keeps what was registered, and so
    every frame, until the transaction ends. Columns without a value, mostly half of them, are not
    carried over.
    """
    counts = frame.null_count().row(0, named=True)
    filled = [name for name, nulls in counts.items() if nulls < frame.height]
    if not filled:
        return
    given = con.from_arrow(_arrow(frame.select(filled)))
    cells = [f'"{name}"' if name in filled else f'null as "{name}"' for name in frame.columns]
    given.project(", ".join(cells)).insert_into(table)


def _arrow(frame: pl.DataFrame) -> Any:
    # polars gives Arrow tables no type.
    return frame.rechunk().to_arrow(compat_level=pl.CompatLevel.newest())  # pyright: ignore[reportUnknownVariableType]


def rows(con: duckdb.DuckDBPyConnection, text: str, params: object = None) -> list[tuple[Any, ...]]:
    """Run a query and return its rows."""
    return con.execute(text, params).fetchall()
