"""Lets steps work some members out apart: from copies of their rows, into tables of their own."""

from collections.abc import Generator, Iterable, Mapping, Sequence
from contextlib import contextmanager
from typing import NamedTuple

import duckdb

from pipeline.season.replace import emptied, replace_rows
from pipeline.season.tables import rows

WHOSE = "member_no in (select member_no from apart_members)"
# Over the rows of so few members a query as it is written ends before it would be planned better.
FEW = 100


class Copied(NamedTuple):
    """What is read of a table or view: some columns of the rows that a condition picks, in SQL.

    The condition may go by `apart_members` (member_no), and by what was copied before it. `of`: SQL
    that has these rows, where that is not all of the table or view.
    """

    name: str
    columns: str
    which: str
    of: str = ""


@contextmanager
def apart(
    con: duckdb.DuckDBPyConnection,
    members: Sequence[str],
    *,
    copied: Iterable[Copied],
    written: Mapping[str, str],
) -> Generator[None]:
    """Let queries read and write, for as long, only the rows of some members.

    A large table is then gone through once, however many queries ask. `copied`: what is read, in
    this order. `written`: tables that begin empty; what they hold at the end takes the place of
    these members' rows in the file, which a condition each picks there sooner than by whose they
    are. Views of the file still see all rows.
    """
    ((file,),) = rows(con, "select current_database()")
    con.execute(
        "create or replace temp table apart_members as select unnest($members) as member_no",
        {"members": list(members)},
    )
    made: list[str] = []
    try:
        for name, columns, which, of in copied:
            source = of or f'"{file}".main.{name}'
            con.execute(f"create temp table {name} as select {columns} from {source} where {which}")
            made.append(name)
        with emptied(con, written):
            if len(members) <= FEW:
                con.execute("pragma disable_optimizer")
            yield
            con.execute("pragma enable_optimizer")
            for name, which in written.items():
                table, anew = f'"{file}".main.{name}', f"select * from temp.{name} where {WHOSE}"
                if len(members) > FEW:
                    replace_rows(con, table, f"({anew})", f"where {WHOSE}")
                else:
                    # What little there is costs less to write than to compare.
                    con.execute(f"delete from {table} where {which}")
                    con.execute(f"insert into {table} {anew}")
    finally:
        con.execute("pragma enable_optimizer")
        for name in made:
            con.execute(f"drop table temp.{name}")
        con.execute("drop table apart_members")
