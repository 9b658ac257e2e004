"""Which rows a rule has to look at again: those that changed, and whose findings hang with theirs.

Most queries find something about a row by itself, or by rows that share a value with it: its
member, its receipt book. They are then run as they stand, over the rows near to those that changed,
which for as long stand under the names of the kind's views. Queries that compare with a whole
season stand in no list here, and look at all of it.

Expects in the connection, beside what the engine does: `touched` (kind, sheet_no, row_no) and
`touched_members` (member_no, through: the kind or table whose rows of that member were touched);
`members_anew`, whose money was just worked out again, and `transfers_anew`, their movements of it.
"""

import re
from collections.abc import Generator, Mapping, Sequence
from contextlib import contextmanager

import duckdb

from checks.declared import filled
from checks.idle import NOTHING_TO_FIND
from checks.rules import RULES
from checks.views import in_place, of_kind, rule_sql, view_sql
from pipeline.intake.kinds import kinds
from pipeline.intake.live import live_rows, row_key

# What rows share whose findings hang together; ROW: nothing, each row stands for itself.
ROW, MEMBER, BOOK, SHEET, KEY = "row", "member", "book", "sheet", "key"

# Of which other kinds and tables a row's own view shows what they say of its member.
BESIDE = {
    "weighings": ("members",),
    "deliveries": ("members", "matched", "unmatched"),
    "farm_record": ("members", "plots"),
    "plots": ("members",),
    "payments": ("members",),
}
# Of queries that ask no more than the row and what stands beside it; "" are the rules without one.
_OF_ROW = {
    "": ROW,
    "impossible_values": ROW,
    "wrong_order": ROW,
    "days_to_come": ROW,
    "corrects_nothing": ROW,
    "gone_rows": ROW,
    "after_closing": ROW,
    "unreadable_cells": SHEET,
    "missing_columns": SHEET,
    "late_sheets": SHEET,
    "keys_twice": KEY,
}
# Of the kinds that have many rows; of others all rows are looked at each time.
HANGS: dict[str, dict[str, str]] = {
    "weighings": _OF_ROW
    | {
        "likely_slips": MEMBER,
        "prices_missing": ROW,
        "prices_off_list": ROW,
        "receipts_of_two_forms": MEMBER,
        "void_receipts_used": BOOK,
        "receipt_gaps": BOOK,
        "receipts_out_of_order": BOOK,
    },
    "deliveries": _OF_ROW | {"likely_slips": MEMBER},
    "farm_record": _OF_ROW | {"picked_too_soon": MEMBER, "labour_of_days": MEMBER},
    "plots": _OF_ROW | {"yields_above_ceiling": MEMBER, "plots_since_counted": MEMBER},
    "payments": _OF_ROW | {"paid_more_than_owed": MEMBER},
}
_QUOTED = re.compile(r"--.*|'[^']*'")
# Queries that go by what other sheets say of a member: coffee, the register, movements of money.
OF_OTHERS = ("yields_above_ceiling", "plots_since_counted", "paid_more_than_owed")
# Those of them that go through movements of money, and the kinds of sheets that these come from.
OF_MONEY = ("paid_more_than_owed",)
MONEY_KINDS = (
    "members",
    "weighings",
    "payments",
    "opening_balances",
    "season_so_far",
    "credit",
    "money_entries",
    "second_payments",
)
# Columns that name a member whose rows hang together.
MEMBERS = ("member_no", "other_member")


def shared(kind: str, hang: str) -> tuple[str, ...]:
    """Return the columns by which rows of a kind hang together; none where it lacks one of them."""
    columns = {
        ROW: ("member_no",),
        MEMBER: ("member_no",),
        BOOK: ("station", "receipt_book"),
        SHEET: ("sheet_no",),
    }
    wanted = columns.get(hang, kinds()[kind].key)
    return wanted if hang == SHEET or all(kinds()[kind].has(name) for name in wanted) else ()


def hangs_on(query: str, kind: str, other: str) -> bool:
    """Tell whether what a query finds among a kind's rows may be looked at in part after a change.

    `other`: the kind whose rows changed; those that hang with them are then known.
    """
    hang = HANGS[kind][query]
    if hang == ROW:
        return other == kind or other in BESIDE[kind]
    if hang == MEMBER and query in OF_OTHERS:
        return any(kinds()[other].has(name) for name in MEMBERS)
    return other == kind or (hang == BOOK and bool(shared(other, hang)))


def parted(kind: str, queries: Sequence[str]) -> dict[str, list[str]]:
    """Return the queries by what their findings hang together by; "": those that look at all."""
    found: dict[str, list[str]] = {}
    for query in queries:
        found.setdefault(HANGS[kind].get(query, ""), []).append(query)
    return found


def nowhere_near(con: duckdb.DuckDBPyConnection) -> None:
    """Let `near_places` (hang, sheet_no, row_no) hold nothing, before `near` adds to it."""
    con.execute(
        "create or replace temp table near_places (hang varchar, sheet_no integer, row_no integer)"
    )


@contextmanager
def near(
    con: duckdb.DuckDBPyConnection, kind: str, hang: str, queries: Sequence[str]
) -> Generator[None]:
    """Let what these queries read show, for as long, only rows near to those that changed.

    `near_places` holds their sheet and row after that, with rows that changed and are live no more.
    """
    _find_keys(con, kind, hang, queries)
    _find_near(con, kind, hang, queries)
    stands_for = {
        f"live_{kind}": live_rows(kinds()[kind], "near_rows"),
        kind: "select r.*, coalesce(e.state, 'counted'::row_state) as state "
        f"from near_rows as r left join exceptions as e on e.kind = '{kind}' "
        "and e.sheet_no = r.sheet_no and e.row_no = r.row_no",
    }
    if any(query in OF_MONEY for query in queries):
        # Mostly the money of all these members was just worked out: who goes through all movements
        # of a large season takes longer than through all rows.
        lacking = "select 1 from near_keys anti join members_anew using (member_no) limit 1"
        source = "transfers" if con.execute(lacking).fetchall() else "transfers_anew"
        con.execute(
            f"create or replace temp table near_transfers as select t.* from {source} as t "
            "inner join near_keys as k on k.member_no = t.member_no"
        )
        stands_for["transfers"] = "select * from near_transfers"
        stands_for["member_account"] = (
            "select member_no, day, "
            "case when to_account = 'member' then amount_minor else -amount_minor end "
            "as amount_minor from near_transfers where 'member' in (from_account, to_account)"
        )
    with in_place(con, stands_for):
        yield


def _columns_read(kind: str, queries: Sequence[str]) -> str:
    """Return the columns of a kind that queries name, themselves or by the views of its rows."""
    texts = [of_kind(filled(query, rule_sql(query), kind), kind) for query in queries if query]
    texts += [filled(query, NOTHING_TO_FIND.get(query, ""), kind) for query in queries]
    if "" in queries:
        texts += [rule.where for rule in RULES if kind in rule.on and not rule.query]
    words = _words(*texts, view_sql(kind))
    if words & {"row_key", "has_key"}:
        words |= _words(row_key(kinds()[kind]))
    # A query that asks the kind's own view may take a row from there as it is.
    whole = any(f"check_{kind}" in text for text in texts)
    named = (c.stored for c in kinds()[kind].columns if whole or c.stored in words)
    return ", ".join(f"r.{name}" for name in ("sheet_no", "row_no", *named))


def _words(*texts: str) -> set[str]:
    """Return what SQL names: columns, tables and views, but not what it says in quotes."""
    return {word for text in texts for word in re.findall(r"[a-z_0-9]+", _QUOTED.sub("", text))}


def _find_keys(
    con: duckdb.DuckDBPyConnection, kind: str, hang: str, queries: Sequence[str]
) -> None:
    """Fill `near_touched`, the rows that changed, and `near_keys`, what they share with others."""
    con.execute(
        "create or replace temp table near_touched as "
        "select sheet_no, row_no from touched where kind = $kind "
        # What is gone from a later version counts by what else is found about it.
        "union select sheet_no, row_no from succession where kind = $kind and by_row_no is null",
        {"kind": kind},
    )
    columns = shared(kind, hang)
    alike = [one for one in kinds() if hang == BOOK and shared(one, hang)] or [kind]
    keys = [
        f"select {', '.join(f'r.{name}' for name in columns)} from rows_{one} as r inner join "
        + ("near_touched as t on " if one == kind else f"touched as t on t.kind = '{one}' and ")
        + "t.sheet_no = r.sheet_no and t.row_no = r.row_no"
        for one in alike
        if hang != ROW
    ]
    if hang == MEMBER:
        if all(query in OF_MONEY for query in queries):
            through: Sequence[str] = MONEY_KINDS
        else:
            through = [*kinds(), "matched"] if {*queries} & {*OF_OTHERS} else [kind]
        keys.append(_touched_through(through))
    elif hang == ROW:
        keys.append(_touched_through(BESIDE[kind]))
    several = " union all ".join(keys)
    con.execute(f"create or replace temp table near_keys as select distinct * from ({several})")


def _find_near(
    con: duckdb.DuckDBPyConnection, kind: str, hang: str, queries: Sequence[str]
) -> None:
    """Fill `near_rows`, and add to `near_places`.

    Near rows lie all over the table: it is gone through once, and each column that is read of them
    is read of nearly all rows.
    """
    con.execute(f"create or replace temp table near_rows as select * from rows_{kind} limit 0")
    insert = (
        f"insert into near_rows by name select {_columns_read(kind, queries)} "
        f"from rows_{kind} as r inner join"
    )
    same = " and ".join(f"k.{name} = r.{name}" for name in shared(kind, hang))
    con.execute(f"{insert} near_keys as k on {same}")
    con.execute(
        "create or replace temp table near_alone as "
        "select sheet_no, row_no from near_touched anti join near_rows using (sheet_no, row_no)"
    )
    con.execute(f"{insert} near_alone as a on a.sheet_no = r.sheet_no and a.row_no = r.row_no")
    con.execute(
        "insert into near_places select $hang, sheet_no, row_no from near_rows "
        "union select $hang, sheet_no, row_no from near_touched",
        {"hang": hang},
    )


def _touched_through(kinds_or_tables: Sequence[str]) -> str:
    named = ", ".join(f"'{one}'" for one in kinds_or_tables)
    return f"select member_no from touched_members where through in ({named})"


def only_near(con: duckdb.DuckDBPyConnection, kind: str, near_to: Mapping[str, str]) -> None:
    """Keep in `found` what is near to what changed, in place of the flags that stood there.

    `near_to`: of rules, by their codes, what their findings hang together by.
    """
    con.execute(
        "create or replace temp table near_rules as "
        "select unnest($codes) as rule, unnest($hangs) as hang",
        {"codes": list(near_to), "hangs": list(near_to.values())},
    )
    con.execute(rule_sql("near_found"))
    con.execute(rule_sql("near_forgotten"), {"kind": kind})


def number_again(con: duckdb.DuckDBPyConnection, kind: str, codes: Sequence[str]) -> None:
    """Number the flags of rules about a row's key, where one may have come before another."""
    con.execute(rule_sql("near_renumbered"), {"kind": kind, "codes": list(codes)})
