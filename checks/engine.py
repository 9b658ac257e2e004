"""Runs the rule table over one kind of rows, as one pass of SQL for all rules that are predicates.

Expects in the connection what `check_<kind>.sql` (or `check_any.sql`) and the queries name:
`live_<kind>` with `row_key` and `has_key`, `known_members`, `valued`, `stations`, `scales`,
`season_days`, `sheets`, `limits_here`, `unreadable`, `converted`, `succession`, `flags`,
`decisions`, `exceptions`.
"""

from collections.abc import Sequence

import duckdb

from checks.declared import filled
from checks.findings import finding, named
from checks.idle import NOTHING_TO_FIND, NOTHING_TO_SETTLE
from checks.near import near, nowhere_near, number_again, only_near, parted
from checks.rule import COFFEE, ROWS, SEASON, Rule, Stage
from checks.rules import RULES
from checks.views import few_sql, of_kind, reads_view, rule_sql, view_sql
from pipeline.intake.kinds import kinds

# Rules that set no state when rows are first looked at.
LATER_CODES = [rule.code for rule in RULES if rule.stage != ROWS]
COFFEE_CODES = [rule.code for rule in RULES if rule.stage == COFFEE]
_OF_KIND = (
    "kind = $kind and ($sheets is null or list_contains(cast($sheets as integer[]), sheet_no))"
)


def rules_on(kind: str, stage: Stage) -> tuple[Rule, ...]:
    """Return the rules that look at a kind at one stage of the working out."""
    return tuple(rule for rule in RULES if kind in rule.on and rule.stage == stage)


def came_in(con: duckdb.DuckDBPyConnection) -> list[str]:
    """Return the kinds, in their order, that the season has any sheet of; most books use a few."""
    found = con.execute("select distinct kind from sheets where kind is not null").fetchall()
    here = {kind for (kind,) in found}
    return [kind for kind in kinds() if kind in here]


def looks_at(kind: str, stage: Stage) -> str:
    """Return all SQL that the rules of one stage run over a kind: for the names it reads."""
    rules = rules_on(kind, stage)
    queries = sorted({rule.query for rule in rules if rule.query})
    texts = [rule_sql(query) for query in queries]
    texts += [NOTHING_TO_FIND[query] for query in queries if query in NOTHING_TO_FIND]
    return of_kind(" ".join([*texts, few_sql(kind), "check_rows"]), kind)


def find_rows(con: duckdb.DuckDBPyConnection, kind: str, *, in_part: bool = False) -> None:
    """Flag the live rows of one kind by the rules that look at rows as they came.

    `in_part`: look again only where rows changed, as `near.py` says.
    """
    con.execute("delete from superseded where kind = ?", [kind])
    _find_anew(con, kind, ROWS, in_part)
    if con.execute("select 1 from succession where kind = ? limit 1", [kind]).fetchall():
        con.execute(of_kind(rule_sql("superseded"), kind))
    _note_flags(con, kind, ROWS, in_part)


def tally(con: duckdb.DuckDBPyConnection, kind: str, codes: Sequence[str]) -> dict[str, int]:
    """Return how many rows some rules find among a kind's live rows; nothing is kept."""
    _look_at(con, kind)
    _find(con, kind, tuple(rule for rule in rules_on(kind, ROWS) if rule.code in codes))
    found = con.execute("select rule, count(*) from found group by rule").fetchall()
    return dict.fromkeys(codes, 0) | dict(found)


def note_decided(con: duckdb.DuckDBPyConnection) -> dict[str, list[int]]:
    """Apply what was decided about flags since; return, of each kind, the sheets of such flags."""
    found: dict[str, list[int]] = {}
    for kind, sheet_no in con.execute(rule_sql("decided_flags"), {"kind": None}).fetchall():
        found.setdefault(kind, []).append(sheet_no)
    return found


def settle_rows(
    con: duckdb.DuckDBPyConnection, kind: str, sheets: Sequence[int] | None = None
) -> None:
    """Apply what was decided about a kind's flags, and set the states of its rows anew.

    `sheets`: of which alone, where `note_decided` has applied it; None for all.
    """
    of = {"kind": kind, "sheets": sheets}
    con.execute(f"delete from exceptions where {_OF_KIND}", of)
    if con.execute(NOTHING_TO_SETTLE, {"kind": kind}).fetchall():
        if sheets is None:
            con.execute(rule_sql("decided_flags"), {"kind": kind})
        con.execute(of_kind(rule_sql("exceptions"), kind), of | {"later": LATER_CODES})


def find_coffee(con: duckdb.DuckDBPyConnection, kind: str) -> None:
    """Flag the rows of a kind that following the coffee set aside."""
    _look_at(con, kind)
    _find(con, kind, rules_on(kind, COFFEE))
    _note_flags(con, kind, COFFEE, in_part=False)


def settle_coffee(con: duckdb.DuckDBPyConnection, kind: str) -> None:
    """Apply what was decided about rows that following the coffee set aside, and set states."""
    if con.execute(NOTHING_TO_SETTLE, {"kind": kind}).fetchall():
        con.execute(rule_sql("decided_flags"), {"kind": kind})
        set_aside(con)


def set_aside(con: duckdb.DuckDBPyConnection) -> None:
    """Set the states of rows that following the coffee set aside, by their flags."""
    con.execute(rule_sql("exceptions_of_coffee"), {"codes": COFFEE_CODES})


def find_season(con: duckdb.DuckDBPyConnection, kind: str, *, in_part: bool = False) -> None:
    """Add the notes that need the whole season worked out; they change no row's state.

    `in_part`: as for `find_rows`.
    """
    if rules_on(kind, SEASON):
        _find_anew(con, kind, SEASON, in_part)
        _note_flags(con, kind, SEASON, in_part)


def settle_season(con: duckdb.DuckDBPyConnection, kind: str) -> None:
    """Apply what was decided about a kind's notes."""
    con.execute(rule_sql("decided_flags"), {"kind": kind})


def _find_anew(con: duckdb.DuckDBPyConnection, kind: str, stage: Stage, in_part: bool) -> None:
    _look_at(con, kind)
    rules = rules_on(kind, stage)
    if not in_part:
        _forget_flags(con, kind, rules)
        _find(con, kind, rules)
        return
    nowhere_near(con)
    near_to: dict[str, str] = {}
    asked: list[str] = []
    for hang, queries in parted(kind, sorted({rule.query for rule in rules})).items():
        some = tuple(rule for rule in rules if rule.query in queries)
        if hang:
            with near(con, kind, hang, queries):
                asked += _ask_all(con, kind, some)
            near_to |= {rule.code: hang for rule in some}
        else:
            _forget_flags(con, kind, some)
            asked += _ask_all(con, kind, some)
    _tell(con, kind, rules, asked)
    only_near(con, kind, near_to)


def _forget_flags(con: duckdb.DuckDBPyConnection, kind: str, rules: Sequence[Rule]) -> None:
    con.execute(
        "delete from flags where kind = $kind and list_contains($codes, rule)",
        {"kind": kind, "codes": [rule.code for rule in rules]},
    )


def forget_set_aside(con: duckdb.DuckDBPyConnection) -> None:
    """Let rows that following the coffee set aside be as they were before it was followed."""
    con.execute("delete from exceptions where aside")


def forget_coffee(con: duckdb.DuckDBPyConnection, *, all_of_it: bool = False) -> None:
    """Forget what following the coffee found, to look again; what was left out stays left out.

    `all_of_it`: that too.
    """
    con.execute(
        "delete from exceptions where aside and ($all_of_it or state <> 'left_out')",
        {"all_of_it": all_of_it},
    )
    con.execute(
        "delete from flags where list_contains($codes, rule) "
        "and ($all_of_it or decision is distinct from 'leave-out')",
        {"codes": COFFEE_CODES, "all_of_it": all_of_it},
    )


def decided_about_coffee(con: duckdb.DuckDBPyConnection, action: str) -> set[tuple[str, int, int]]:
    """Return the rows that following the coffee set aside and a decision settled in one way."""
    return set(
        con.execute(
            "select kind, sheet_no, row_no from flags "
            "where list_contains($codes, rule) and decision = $action",
            {"codes": COFFEE_CODES, "action": action},
        ).fetchall()
    )


def _note_flags(con: duckdb.DuckDBPyConnection, kind: str, stage: Stage, in_part: bool) -> None:
    if con.execute("select 1 from found limit 1").fetchall():
        con.execute(rule_sql("found_flags"))
    if in_part:
        number_again(con, kind, [rule.code for rule in rules_on(kind, stage) if not rule.about])


def _look_at(con: duckdb.DuckDBPyConnection, kind: str) -> None:
    con.execute(f"create or replace temp table looked_at as select '{kind}' as kind")
    con.execute("create or replace temp table picked (sheet_no integer, row_no integer)")
    con.execute(
        "create or replace temp table found (rule varchar, severity varchar, kind varchar, "
        "sheet_no integer, row_no integer, row_key varchar, col varchar, value varchar, "
        "facts json, named varchar, judged varchar, measure decimal(18, 4), "
        "holds_to decimal(18, 4), kg_at_stake decimal(14, 3), minor_at_stake bigint)"
    )


def _find(con: duckdb.DuckDBPyConnection, kind: str, rules: tuple[Rule, ...]) -> None:
    _tell(con, kind, rules, _ask_all(con, kind, rules))


def _ask_all(con: duckdb.DuckDBPyConnection, kind: str, rules: tuple[Rule, ...]) -> list[str]:
    """Add to `picked` what predicates find, and run queries; return those that found any."""
    predicates = [rule for rule in rules if not rule.query]
    queries = sorted({rule.query for rule in rules if rule.query})
    # Views are made where they are read, and each time: other rows may stand under a name by now.
    if predicates or any(reads_view(query) for query in queries):
        con.execute(view_sql(kind))
    if predicates:
        any_mark = " or ".join(f"({rule.where})" for rule in predicates)
        con.execute(
            f"insert into picked select sheet_no, row_no from check_{kind} where {any_mark}"
        )
    return [query for query in queries if _ask(con, kind, query)]


def _tell(
    con: duckdb.DuckDBPyConnection, kind: str, rules: tuple[Rule, ...], asked: Sequence[str]
) -> None:
    """Fill `found` from what was asked, with what flags tell of each row, fetched once for all."""
    predicates = [rule for rule in rules if not rule.query]
    if not asked and not con.execute("select 1 from picked limit 1").fetchall():
        return
    by_query = {query: [rule for rule in rules if rule.query == query] for query in asked}
    con.execute(few_sql(kind))
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


def _ask(con: duckdb.DuckDBPyConnection, kind: str, query: str) -> bool:
    """Run a query into a table of its own; tell whether it found any."""
    # Most weeks have no unreadable cell and no row that is gone: their queries need not run.
    idle = NOTHING_TO_FIND.get(query)
    if idle and not con.execute(_query(query, idle, kind)).fetchall():
        return False
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


def _columns(con: duckdb.DuckDBPyConnection, view: str) -> set[str]:
    described = con.execute(f"select * from {view} limit 0").description or ()
    return {str(column[0]) for column in described}
