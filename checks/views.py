"""The SQL of rules as it looks at one kind: named queries, and the view of the kind's rows."""

from collections.abc import Generator, Iterable, Mapping
from contextlib import contextmanager
from functools import cache
from importlib import resources
from string import Template

import duckdb

from pipeline.intake.kinds import kinds
from pipeline.intake.live import live_rows

# Where the second of a kind's views begins.
_WEIGHT_OF = "create or replace temp view weight_of_"


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


def views_read(kind: str, queries: Iterable[str]) -> str:
    """Return the SQL of those of a kind's views that queries look at rows through.

    The query "" stands for predicates.
    """
    texts = ["check_rows" if query == "" else rule_sql(query) for query in queries]
    check, mark, weight_of = view_sql(kind).partition(_WEIGHT_OF)
    views = {"check_rows": check, "weight_of_rows": mark + weight_of}
    return "".join(sql for name, sql in views.items() if any(name in text for text in texts))


@cache
def few_sql(kind: str, *, few_sheets: bool = False) -> str:
    """Return the SQL of two views of the rows in the table `picked`, as the kind's own are of all.

    `picked_<kind>`: as `live_<kind>`; `few_<kind>`: as `check_<kind>`, and what `few_<kind>.sql`
    puts beside. Keys, limits and values are worked out for these rows only. `few_sheets`: they lie
    in few of the sheets.
    """
    # Of sheets that none was picked of, rows need not be looked through.
    prune = (
        "semi join (select distinct sheet_no from picked) using (sheet_no) " if few_sheets else ""
    )
    picked = f"(from rows_{kind} {prune}semi join picked using (sheet_no, row_no))"
    more = resources.files("checks").joinpath(f"sql/few_{kind}.sql").is_file()
    view, _, _ = view_sql(kind).partition(_WEIGHT_OF)
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
