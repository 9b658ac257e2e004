"""Asks rules what they find, and fetches what flags tell of it."""

from collections.abc import Sequence

import duckdb

from checks.declared import filled
from checks.findings import finding, named
from checks.idle import NOTHING_TO_FIND
from checks.rule import Rule
from checks.views import few_sql, of_kind, rule_sql, views_read


def look_at(con: duckdb.DuckDBPyConnection, kind: str) -> None:
    """Make room for what is found on one kind: `found`, and `picked` for the places of rows."""
    con.execute(f"create or replace temp table looked_at as select '{kind}' as kind")
    con.execute("create or replace temp table picked (sheet_no integer, row_no integer)")
    con.execute(
        "create or replace temp table found (rule varchar, severity varchar, kind varchar, "
        "sheet_no integer, row_no integer, row_key varchar, col varchar, value varchar, "
        "facts json, named varchar, judged varchar, measure decimal(18, 4), "
        "holds_to decimal(18, 4), kg_at_stake decimal(14, 3), minor_at_stake bigint)"
    )


def find(con: duckdb.DuckDBPyConnection, kind: str, rules: tuple[Rule, ...]) -> None:
    """Fill `found` with what rules find on a kind."""
    tell(con, kind, rules, ask_all(con, kind, rules))


def ask_all(con: duckdb.DuckDBPyConnection, kind: str, rules: tuple[Rule, ...]) -> list[str]:
    """Add to `picked` what predicates find, and run queries; return those that found any."""
    predicates = [rule for rule in rules if not rule.query]
    queries = sorted({rule.query for rule in rules if rule.query})
    queries = [query for query in queries if _may_find(con, kind, query)]
    # Views are made where they are read, and each time: other rows may stand under a name by now.
    if views := views_read(kind, ["", *queries] if predicates else queries):
        con.execute(views)
    if predicates:
        any_mark = " or ".join(f"({rule.where})" for rule in predicates)
        con.execute(
            f"insert into picked select sheet_no, row_no from check_{kind} where {any_mark}"
        )
    return [query for query in queries if _ask(con, kind, query)]


def tell(
    con: duckdb.DuckDBPyConnection, kind: str, rules: Sequence[Rule], asked: Sequence[str]
) -> None:
    """Fill `found` from what was asked, with what flags tell of each row, fetched once for all."""
    predicates = [rule for rule in rules if not rule.query]
    if not asked and not con.execute("select 1 from picked limit 1").fetchall():
        return
    by_query = {query: [rule for rule in rules if rule.query == query] for query in asked}
    con.execute(few_sql(kind, few_sheets=_in_few_sheets(con, asked)))
    few = _columns(con, f"few_{kind}")
    lacking = {
        query: few & named(by_query[query]) - _columns(con, f"asked_{query}") for query in asked
    }
    if places := " union all ".join(
        f"select sheet_no, row_no from asked_{query}" for query, names in lacking.items() if names
    ):
        con.execute(f"insert into picked {places}")
    names = set[str]().union(*lacking.values(), few & named(predicates) if predicates else ())
    findings: list[str] = []
    if names:
        findings += _fetch(con, kind, predicates, {"sheet_no", "row_no", *names})
    for query, beside in lacking.items():
        source = _beside(query, beside)
        findings += [finding(rule, source, f"({rule.where})") for rule in by_query[query]]
    if findings:
        con.execute(f"insert into found {' union all '.join(findings)}")


def _in_few_sheets(con: duckdb.DuckDBPyConnection, asked: Sequence[str]) -> bool:
    """Tell whether what was found lies in an eighth of the sheets or less."""
    tables = ["picked", *(f"asked_{query}" for query in asked)]
    found = " union all ".join(f"select sheet_no from {table}" for table in tables)
    text = f"select count(distinct sheet_no) * 8 <= (select count(*) from sheets) from ({found})"
    ((few,),) = con.execute(text).fetchall()
    return bool(few)


def _may_find(con: duckdb.DuckDBPyConnection, kind: str, query: str) -> bool:
    # Most weeks have no unreadable cell and no row that is gone: their queries need not run.
    idle = NOTHING_TO_FIND.get(query)
    return not idle or bool(con.execute(_query(query, idle, kind)).fetchall())


def _ask(con: duckdb.DuckDBPyConnection, kind: str, query: str) -> bool:
    """Run a query into a table of its own; tell whether it found any."""
    sql = _query(query, rule_sql(query), kind)
    return _count(con, f"create or replace temp table asked_{query} as {sql}") > 0


def _count(con: duckdb.DuckDBPyConnection, text: str) -> int:
    """Run a statement that fills a table; return how many rows it brought."""
    ((count,),) = con.execute(text).fetchall()
    return count


def _query(query: str, sql: str, kind: str) -> str:
    return of_kind(filled(query, sql, kind), kind)


def _fetch(
    con: duckdb.DuckDBPyConnection, kind: str, predicates: list[Rule], names: set[str]
) -> list[str]:
    """Fetch what flags tell of the rows in `picked`, once for all rules; what predicates find, SQL.

    To bring the rows' keys or limits along in each query would mean working them out for every row.
    """
    own = _columns(con, f"picked_{kind}")
    view = f"picked_{kind}" if names <= own else f"few_{kind}"
    marks = [f"({rule.where}) is true as hit_{n}" for n, rule in enumerate(predicates)]
    con.execute(
        f"create or replace temp table beside as select {', '.join([*sorted(names), *marks])} "
        f"from {view}"
    )
    if not predicates:
        return []
    counts = ", ".join(f"count(*) filter (where hit_{n})" for n in range(len(predicates)))
    hits = con.execute(f"select {counts} from beside").fetchall()[0]
    return [finding(rule, "beside", f"hit_{n}") for n, rule in enumerate(predicates) if hits[n]]


def _beside(query: str, names: set[str]) -> str:
    """Return SQL for a query's findings, each beside some columns of its row."""
    if not names:
        return f"asked_{query}"
    besides = ", ".join(f"r.{name}" for name in sorted(names))
    return (
        f"(select q.*, {besides} from asked_{query} as q inner join beside as r "
        "on r.sheet_no = q.sheet_no and r.row_no = q.row_no)"
    )


def _columns(con: duckdb.DuckDBPyConnection, name: str) -> set[str]:
    """Return the columns of a temp table or view: to look at the view itself takes longer."""
    noted = con.execute(
        "select column_name from duckdb_columns() where database_name = 'temp' and table_name = ?",
        [name],
    )
    return {column for (column,) in noted.fetchall()}
