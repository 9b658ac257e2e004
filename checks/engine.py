"""Runs the rule table over one kind of rows, as one pass of SQL for all rules that are predicates.

Expects in the connection what `check_<kind>.sql` (or `check_any.sql`) and the queries name:
`live_<kind>` with `row_key` and `has_key`, `known_members`, `valued`, `stations`, `scales`,
`season_days`, `sheets`, `limits_here`, `unreadable`, `converted`, `succession`, `flags`,
`decisions`, `exceptions`.
"""

from collections.abc import Sequence

import duckdb

from checks.asking import ask_all, find, look_at, tell
from checks.idle import NOTHING_TO_FIND, NOTHING_TO_SETTLE
from checks.near import parted
from checks.near_rows import near, number_again, only_near, touched_near
from checks.rule import COFFEE, ROWS, SEASON, Rule, Stage
from checks.rules import RULES
from checks.views import few_sql, of_kind, rule_sql
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
    look_at(con, kind)
    find(con, kind, tuple(rule for rule in rules_on(kind, ROWS) if rule.code in codes))
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
    look_at(con, kind)
    find(con, kind, rules_on(kind, COFFEE))
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


def _find_anew(con: duckdb.DuckDBPyConnection, kind: str, stage: Stage, in_part: bool) -> None:
    look_at(con, kind)
    rules = rules_on(kind, stage)
    if not in_part:
        _forget_flags(con, kind, rules)
        find(con, kind, rules)
        return
    by_hang = parted(kind, sorted({rule.query for rule in rules}))
    everywhere = by_hang.pop("", [])
    looked = [rule for rule in rules if rule.query in everywhere]
    asked: list[str] = []
    if looked:
        _forget_flags(con, kind, looked)
        asked += ask_all(con, kind, tuple(looked))
    near_to: dict[str, str] = {}
    for hangs in touched_near(con, kind, by_hang):
        hang_of = {query: hang for hang, queries in hangs.items() for query in queries}
        some = tuple(rule for rule in rules if rule.query in hang_of)
        with near(con, kind, hangs):
            asked += ask_all(con, kind, some)
        near_to |= {rule.code: hang_of[rule.query] for rule in some}
        looked += some
    tell(con, kind, looked, asked)
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
