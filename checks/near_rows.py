"""The rows near to those that changed, under the names of a kind's views, and what is kept of them.

Expects in the connection, beside what the engine does: `touched` (kind, sheet_no, row_no);
`touched_members` (member_no, through: the kind or table whose rows of that member were touched);
`near_kept` (kind), empty when a working out begins; `weighed_sheets`, where a book's rows lie;
`members_anew`, whose money was just worked out again, with its movements in `transfers_anew` and
`member_account_anew`.
"""

import re
from collections.abc import Generator, Mapping, Sequence
from contextlib import contextmanager

import duckdb

from checks.declared import filled
from checks.idle import NOTHING_TO_FIND
from checks.near import (
    ALSO_READ,
    BESIDE,
    BOOK,
    HANGS,
    KEY,
    LEDGER,
    MEMBER,
    MONEY_KINDS,
    OF_MONEY,
    OF_OTHERS,
    ROW,
    SHEET,
    shared,
)
from checks.rules import RULES
from checks.views import in_place, of_kind, rule_sql, views_read
from pipeline.intake.kinds import kinds
from pipeline.intake.live import live_rows, row_key, stated_rows

_QUOTED = re.compile(r"--.*|'[^']*'")


def touched_near(
    con: duckdb.DuckDBPyConnection, kind: str, by_hang: Mapping[str, Sequence[str]]
) -> list[dict[str, Sequence[str]]]:
    """Return, in turn, what to look at again at once, of queries by what findings hang together by.

    What nothing that changed hangs with is left out. Fills `near_touched`, the rows that changed,
    and `near_own`, by what they hang with others; empties `near_places`.
    """
    con.execute(rule_sql("near_touched"), {"kind": kind})
    con.execute(
        "create or replace temp table near_places (hang varchar, sheet_no integer, row_no integer)"
    )
    changed = set(con.execute(rule_sql("near_changed"), {"kind": kind}).fetchall())
    near = [hang for hang, queries in by_hang.items() if changed & _by_what(kind, hang, queries)]
    names = {name for hang in near if hang != SHEET for name in shared(kind, hang)}
    columns = ", ".join(f"r.{name}" for name in ("sheet_no", "row_no", *sorted(names)))
    con.execute(
        f"create or replace temp table near_own as select {columns} from rows_{kind} as r "
        "inner join near_touched as t on t.sheet_no = r.sheet_no and t.row_no = r.row_no"
    )
    # Rows of sheets, books and keys are nearly the same ones; those of members are many more.
    parts = [
        [hang for hang in part if hang in near] for part in ((SHEET, BOOK, KEY, ROW), (MEMBER,))
    ]
    return [{hang: by_hang[hang] for hang in part} for part in parts if part]


@contextmanager
def near(
    con: duckdb.DuckDBPyConnection, kind: str, by_hang: Mapping[str, Sequence[str]]
) -> Generator[None]:
    """Let what these queries read show, for as long, only rows near to those that changed.

    Of each hang all are shown that hang together, and some more, of which what is found is left
    out by `only_near`. `near_places` holds those, by hang, with rows that are live no more.
    """
    queries = [query for several in by_hang.values() for query in several]
    if MEMBER in by_hang:
        shown = _find_members(con, kind, queries)
    else:
        shown = _find_few(con, kind, by_hang, queries)
    # Of columns that none of them reads there is nothing.
    shown = f"(select * from rows_{kind} where false union all by name select * from {shown})"
    stands_for = {
        f"live_{kind}": live_rows(kinds()[kind], shown),
        kind: stated_rows(kind, shown),
    }
    if any(query in OF_MONEY for query in queries):
        # Mostly the money of all these members was just worked out: who goes through all movements
        # of a large season takes longer than through all rows.
        lacking = "select 1 from near_keys anti join members_anew using (member_no) limit 1"
        shown_as = "{}_anew"
        if con.execute(lacking).fetchall():
            shown_as = "near_{}"
            for view in LEDGER:
                con.execute(
                    f"create or replace temp table near_{view} as select v.* from {view} as v "
                    "inner join near_keys as k on k.member_no = v.member_no"
                )
        stands_for |= {view: f"from {shown_as.format(view)}" for view in LEDGER}
    with in_place(con, stands_for):
        yield


def only_near(con: duckdb.DuckDBPyConnection, kind: str, near_to: Mapping[str, str]) -> None:
    """Keep in `found` what is near to what changed, in place of the flags that stood there.

    `near_to`: of rules, by their codes, what their findings hang together by.
    """
    con.execute(
        "create or replace temp table near_rules as "
        "select unnest($codes::varchar[]) as rule, unnest($hangs::varchar[]) as hang",
        {"codes": list(near_to), "hangs": list(near_to.values())},
    )
    con.execute(rule_sql("near_found"))
    con.execute(rule_sql("near_flags"), {"kind": kind})
    con.execute("delete from flags where rowid in (select id from near_flags)")


def found_of(con: duckdb.DuckDBPyConnection, kind: str, members: Sequence[str]) -> str:
    """Return the table that has all rows of some members, of those near or of the kind.

    Of the first it has the columns that `ALSO_READ` names.
    """
    if con.execute("select 1 from near_kept where kind = ?", [kind]).fetchall():
        lacking = (
            "select 1 from (select unnest($members) as member_no) "
            f"anti join near_{kind}_keys using (member_no) limit 1"
        )
        if not con.execute(lacking, {"members": list(members)}).fetchall():
            return f"near_{kind}"
    return f"rows_{kind}"


def number_again(con: duckdb.DuckDBPyConnection, kind: str, codes: Sequence[str]) -> None:
    """Number the flags of rules about a row's key, where one may have come before another."""
    con.execute(rule_sql("near_renumbered"), {"kind": kind, "codes": list(codes)})


def _by_what(kind: str, hang: str, queries: Sequence[str]) -> set[tuple[str, str]]:
    """Return by what change, as `near_changed` names it, rows have to be looked at again."""
    others = {("rows", one) for one in _alike(kind, hang)}
    members = {("members", through) for through in _through(kind, hang, queries)}
    return {("rows", kind)} | others | members


def _alike(kind: str, hang: str) -> list[str]:
    """Return the other kinds that rows of a kind hang together with by the same columns."""
    return [one for one in kinds() if hang == BOOK and one != kind and shared(one, hang)]


def _through(kind: str, hang: str, queries: Sequence[str]) -> Sequence[str]:
    """Return through which kinds and tables what is said of a member touches a kind's rows."""
    if hang == ROW:
        return BESIDE[kind]
    if hang != MEMBER:
        return ()
    if all(query in OF_MONEY for query in queries):
        return MONEY_KINDS
    return [*kinds(), "matched"] if {*queries} & {*OF_OTHERS} else [kind]


def _touched_through(kinds_or_tables: Sequence[str]) -> str:
    named = ", ".join(f"'{one}'" for one in kinds_or_tables)
    return f"select member_no from touched_members where through in ({named})"


def _find_few(
    con: duckdb.DuckDBPyConnection,
    kind: str,
    by_hang: Mapping[str, Sequence[str]],
    queries: Sequence[str],
) -> str:
    """Fill a table with the rows near by all but members; return its name."""
    select = f"select {_columns_read(kind, queries)} from rows_{kind} as r "
    if SHEET in by_hang:
        own = "(select distinct sheet_no from near_own) as k on k.sheet_no = r.sheet_no"
    else:
        own = "near_own as k on k.sheet_no = r.sheet_no and k.row_no = r.row_no"
    con.execute(f"create or replace temp table near_few as {select} inner join {own}")
    keyed: list[str] = []
    for hang in by_hang:
        if hang == SHEET or not _find_keys(con, kind, hang):
            continue
        keyed.append(hang)
        if hang == KEY and BOOK in keyed and {*shared(kind, BOOK)} <= {*shared(kind, KEY)}:
            # All of a key are of one book.
            continue
        same = " and ".join(f"k.{name} = r.{name}" for name in shared(kind, hang))
        source = f"inner join near_{hang}_keys as k on {same}"
        if kind == "weighings" and hang == BOOK:
            # A book's rows lie in few sheets: the others need not be looked through.
            con.execute(rule_sql("near_sheets"))
            source = f"inner join near_sheets as s on s.sheet_no = r.sheet_no {source}"
        con.execute(
            f"insert into near_few {select} {source} "
            "anti join near_few as f on f.sheet_no = r.sheet_no and f.row_no = r.row_no"
        )
    places = [f"select '{hang}', sheet_no, row_no from near_touched" for hang in by_hang]
    if SHEET in by_hang:
        places.append(
            f"select '{SHEET}', sheet_no, row_no from near_few "
            "semi join (select distinct sheet_no from near_touched) using (sheet_no)"
        )
    places += [
        f"select '{hang}', f.sheet_no, f.row_no from near_few as f semi join near_{hang}_keys as k "
        f"using ({', '.join(shared(kind, hang))})"
        for hang in keyed
    ]
    con.execute(f"insert into near_places {' union all '.join(places)}")
    return "near_few"


def _find_keys(con: duckdb.DuckDBPyConnection, kind: str, hang: str) -> bool:
    """Fill a table with what rows that changed share with others; tell whether there is any."""
    columns = ", ".join(shared(kind, hang))
    if not columns:
        return False
    if hang == ROW:
        source = _touched_through(BESIDE[kind])
    else:
        source = f"select {columns} from near_own" + "".join(
            f" union all select {columns} from rows_{one} as r semi join "
            f"(from touched where kind = '{one}') as t using (sheet_no, row_no)"
            for one in _alike(kind, hang)
        )
    made = f"create or replace temp table near_{hang}_keys as select distinct * from ({source})"
    ((count,),) = con.execute(made).fetchall()
    return count > 0


def _find_members(con: duckdb.DuckDBPyConnection, kind: str, queries: Sequence[str]) -> str:
    """Fill a table with the rows of the members near, unless it has them; return its name.

    These lie all over the kind's table: it is gone through once, and each column that is read of
    them is read of nearly all rows. Who hangs together by a member has one.
    """
    table = f"near_{kind}"
    through = _touched_through(_through(kind, MEMBER, queries))
    con.execute(
        "create or replace temp table near_keys as select distinct member_no from "
        f"(select member_no from near_own union all {through}) where member_no is not null"
    )
    # What both stages read, so that the second finds it here.
    several = [query for query, hang in HANGS[kind].items() if hang == MEMBER]
    columns = _columns_read(kind, several, ALSO_READ.get(kind, ()))
    select = f"select {columns} from rows_{kind} as r "
    if not con.execute("select 1 from near_kept where kind = ?", [kind]).fetchall():
        con.execute("insert into near_kept values (?)", [kind])
        con.execute(f"create or replace temp table {table} as {select} limit 0")
        con.execute(f"create or replace temp table {table}_keys (member_no varchar)")
    ((lacking,),) = con.execute(
        "create or replace temp table near_lacking as "
        f"from near_keys anti join {table}_keys using (member_no)"
    ).fetchall()
    if lacking:
        con.execute(
            f"insert into {table} {select} "
            "inner join near_lacking as k on k.member_no = r.member_no"
        )
        con.execute(f"insert into {table}_keys from near_lacking")
    con.execute(
        f"insert into near_places select '{MEMBER}', sheet_no, row_no from {table} "
        "semi join near_keys using (member_no) "
        f"union all select '{MEMBER}', sheet_no, row_no from near_touched"
    )
    return table


def _columns_read(kind: str, queries: Sequence[str], also: Sequence[str] = ()) -> str:
    """Return the columns of a kind that queries name, themselves or by the views of its rows."""
    texts = [of_kind(filled(query, rule_sql(query), kind), kind) for query in queries if query]
    texts += [filled(query, NOTHING_TO_FIND.get(query, ""), kind) for query in queries]
    if "" in queries:
        texts += [rule.where for rule in RULES if kind in rule.on and not rule.query]
    words = _words(*texts, views_read(kind, queries))
    if words & {"row_key", "has_key"}:
        words |= _words(row_key(kinds()[kind]))
    # A query that asks the kind's own view may take a row from there as it is.
    whole = any(f"check_{kind}" in text for text in texts)
    words |= {*also}
    named = (c.stored for c in kinds()[kind].columns if whole or c.stored in words)
    return ", ".join(f"r.{name}" for name in ("sheet_no", "row_no", *named))


def _words(*texts: str) -> set[str]:
    """Return what SQL names: columns, tables and views, but not what it says in quotes."""
    return {word for text in texts for word in re.findall(r"[a-z_0-9]+", _QUOTED.sub("", text))}
