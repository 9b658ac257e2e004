"""The SQL of rules as it looks at one kind: named queries, and the view of the kind's rows."""

from collections.abc import Generator, Mapping
from contextlib import contextmanager
from functools import cache
from importlib import resources
from string import Template

import duckdb

from pipeline.intake.kinds import kinds
from pipeline.intake.live import live_rows


@cache
def rule_sql(name: str) -> str:
    """Return the text of one named query of this package."""
    return resources.files("checks").joinpath(f"sql/{name}.sql").read_text("utf-8")


@cache
def view_sql(kind: str) -> str:
    """Return the SQL of the view `check_<kind>`: the kind's own, else `check_any.sql` filled in.

    The placeholders take names of the kind's declared columns, or a typed null where it has none.
    """
    if resources.files("checks").joinpath(f"sql/check_{kind}.sql").is_file():
        return rule_sql(f"check_{kind}")

    def stored(sql_type: str, *names: str) -> str:
        columns = {column.name: column.stored for column in kinds()[kind].columns}
        at_hand = [f"r.{columns[name]}" for name in names if name in columns]
        return at_hand[0] if at_hand else f"cast(null as {sql_type})"

    return Template(rule_sql("check_any")).substitute(
        kind=kind,
        member_no=stored("varchar", "member_no"),
        station=stored("varchar", "station"),
        species=stored("varchar", "species"),
        form=stored("varchar", "form"),
        kg=stored("decimal(14, 3)", "net_kg"),
        minor=stored("bigint", "amount", "value"),
    )


@cache
def reads_view(query: str) -> bool:
    """Tell whether a named query looks at rows through the views that `view_sql` makes."""
    return any(f"{view}_rows" in rule_sql(query) for view in ("check", "weight_of"))


@cache
def few_sql(kind: str) -> str:
    """Return the SQL of two views of the rows in the table `picked`, as the kind's own are of all.

    `picked_<kind>`: as `live_<kind>`; `few_<kind>`: as `check_<kind>`, and what `few_<kind>.sql`
    puts beside. Keys, limits and values are worked out for these rows only.
    """
    picked = f"(from rows_{kind} semi join picked using (sheet_no, row_no))"
    more = resources.files("checks").joinpath(f"sql/few_{kind}.sql").is_file()
    view, _, _ = view_sql(kind).partition("create or replace temp view weight_of_")
    view = view.replace(f"view check_{kind} as", f"view {'bare' if more else 'few'}_{kind} as")
    view = view.replace(f"from live_{kind} as r", f"from picked_{kind} as r")
    few = rule_sql(f"few_{kind}") if more else ""
    live = live_rows(kinds()[kind], picked)
    return f"create or replace temp view picked_{kind} as {live};\n{view}\n{few}"


def of_kind(sql: str, kind: str) -> str:
    """Return SQL for one kind: `live_rows`, `check_rows`, `weight_of_rows` are its own views."""
    for view in ("live", "check", "weight_of"):
        sql = sql.replace(f"{view}_rows", f"{view}_{kind}")
    return sql


@contextmanager
def in_place(con: duckdb.DuckDBPyConnection, texts: Mapping[str, str]) -> Generator[None]:
    """Let SQL stand, for as long, under the names of tables and views, which queries then read."""
    for name, text in texts.items():
        con.execute(f"create temp view {name} as {text}")
    try:
        yield
    finally:
        for name in texts:
            con.execute(f"drop view temp.{name}")
