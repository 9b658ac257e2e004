"""Work on a connection of its own beside others: what it sees, and when it is seen."""

from collections.abc import Generator
from pathlib import Path
from threading import Event, get_ident

import duckdb
import pytest

from pipeline.season.beside import Beside
from pipeline.season.tables import connect, rows


@pytest.fixture
def con(tmp_path: Path) -> Generator[duckdb.DuckDBPyConnection]:
    with connect(str(tmp_path / "season.duckdb"), read_only=False, macros=True) as made:
        made.execute("create table lots (lot_no varchar)")
        made.execute("create table payments (payment_no varchar)")
        made.execute("begin transaction")
        yield made


def test_both_write_and_each_is_seen_once_it_is_waited_for(con: duckdb.DuckDBPyConnection) -> None:
    met = Event()

    def work(other: duckdb.DuckDBPyConnection) -> int:
        other.execute("insert into lots values ('L-1')")
        # It would wait here for ever if the others waited for it.
        assert met.wait(10)
        return get_ident()

    found: list[int] = []
    with Beside(con) as beside:
        beside.begin(work, found.append)
        beside.begin(lambda other: other.execute("insert into lots values ('L-2')"))
        con.execute("insert into payments values ('P-1')")
        met.set()
        assert beside.wait()
    assert found != [get_ident()]
    assert rows(con, "select count(*) from lots") == [(0,)]
    con.execute("commit")
    assert rows(con, "select count(*) from lots") == [(2,)]
    assert rows(con, "select count(*) from payments") == [(1,)]


def test_it_sees_the_temp_tables_that_it_is_lent(con: duckdb.DuckDBPyConnection) -> None:
    con.execute("create temp table touched as select 'L-1' as lot_no")

    def lend(other: duckdb.DuckDBPyConnection) -> None:
        other.execute("create temp table touched as select 'L-2' as lot_no")

    with Beside(con, lend) as beside:
        beside.begin(lambda other: other.execute("insert into lots from touched"))
        beside.wait()
    con.execute("commit")
    assert rows(con, "from lots") == [("L-2",)]


def test_what_fails_is_raised_and_nothing_of_it_stays(con: duckdb.DuckDBPyConnection) -> None:
    def fail(other: duckdb.DuckDBPyConnection) -> None:
        other.execute("insert into lots values ('L-1')")
        raise LookupError("no such lot")

    with Beside(con) as beside:
        beside.begin(fail)
        with pytest.raises(LookupError, match="no such lot"):
            beside.wait()
    con.execute("commit")
    assert rows(con, "from lots") == []


def test_alone_one_thing_is_done_after_the_other(con: duckdb.DuckDBPyConnection) -> None:
    found: list[int] = []
    with Beside(con, alone=True) as beside:
        beside.begin(lambda _: get_ident(), found.append)
        beside.begin(lambda other: other.execute("insert into lots values ('L-1')"))
        assert rows(con, "from lots") == [("L-1",)]
        assert not beside.wait()
    assert found == [get_ident()]
