"""Puts what was worked out anew for some rows in the place of what stood, where it differs."""

from collections.abc import Generator, Iterable, Mapping
from contextlib import contextmanager

import duckdb

from pipeline.season.tables import rows


@contextmanager
def emptied(con: duckdb.DuckDBPyConnection, names: Iterable[str]) -> Generator[str]:
    """Let tables stand empty for as long, and be filled apart; gives the name of the file."""
    ((file,),) = rows(con, "select current_database()")
    made: list[str] = []
    try:
        for name in names:
            con.execute(f'create temp table {name} as from "{file}".main.{name} limit 0')
            made.append(name)
        yield file
    finally:
        for name in made:
            con.execute(f"drop table temp.{name}")


@contextmanager
def replaced(con: duckdb.DuckDBPyConnection, tables: Mapping[str, str]) -> Generator[None]:
    """Let queries fill tables that begin empty, and put what they hold in the place of some rows.

    `tables`: of each, the SQL that joins its rows in the file, `t`, with what picks those whose
    place is taken; each of them once.
    """
    with emptied(con, tables) as file:
        yield
        for name, picked in tables.items():
            replace_rows(con, f'"{file}".main.{name}', f"(from temp.{name})", picked)


def replace_rows(con: duckdb.DuckDBPyConnection, table: str, anew: str, picked: str) -> None:
    """Put rows, `anew` in SQL, in the place of those of a table that a join with `t` picks.

    Rows that are there as often as before are not touched: a row taken away and put back leaves a
    hole where it stood, stands where nobody looks for it, and is written to the disk. Rows are told
    apart by a hash of 64 bits.
    """
    con.execute(
        f"create or replace temp table rows_before as "
        f"select t.rowid as id, hash(t) as says from {table} as t {picked}"
    )
    con.execute(
        "create or replace temp table rows_anew as "
        f"select hash(t) as says, t as one from {anew} as t"
    )
    con.execute(
        "create or replace temp table rows_changed as select says from ("
        "select says, 1 as times from rows_before union all select says, -1 from rows_anew"
        ") group by says having sum(times) <> 0"
    )
    if rows(con, "select 1 from rows_changed limit 1"):
        con.execute(
            f"delete from {table} where rowid in "
            "(select id from rows_before where says in (select says from rows_changed))"
        )
        con.execute(
            f"insert into {table} select unnest(one) from rows_anew "
            "where says in (select says from rows_changed)"
        )
    for name in ("rows_before", "rows_anew", "rows_changed"):
        con.execute(f"drop table {name}")
