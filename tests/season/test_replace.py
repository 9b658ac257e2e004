"""What was worked out anew takes the place of what stood there; what is the same is not touched."""

from random import Random

import duckdb
import pytest

from pipeline.season.replace import replace_rows, replaced
from pipeline.season.tables import rows


@pytest.fixture
def con() -> duckdb.DuckDBPyConnection:
    con = duckdb.connect()
    con.execute("create table kept (who varchar, n integer, parts integer[])")
    return con


@pytest.mark.parametrize("seed", range(20))
def test_rows_that_stay_keep_their_places(con: duckdb.DuckDBPyConnection, seed: int) -> None:
    """Also where rows are alike: one of two that goes leaves the other."""
    draw = Random(seed)

    def drawn(who: str) -> list[tuple[str, int | None, list[int] | None]]:
        few = [(1, [1]), (1, [1, 2]), (2, None), (None, [])]
        return [(who, *draw.choice(few)) for _ in range(draw.randrange(8))]

    before, others, after = drawn("a"), drawn("b"), drawn("a")
    for row in draw.sample(before + others, len(before + others)):
        con.execute("insert into kept values (?, ?, ?)", list(row))
    places = dict(rows(con, "select rowid, hash(kept) from kept"))
    con.execute("create temp table anew as from kept limit 0")
    for row in after:
        con.execute("insert into anew values (?, ?, ?)", list(row))
    replace_rows(con, "memory.main.kept", "(from anew)", "where who = 'a'")
    stands = rows(con, "from kept")
    assert sorted(map(repr, stands)) == sorted(map(repr, after + others))
    now = dict(rows(con, "select rowid, hash(kept) from kept"))
    as_often = {repr(row) for row in before if before.count(row) == after.count(row)}
    said = {says: repr(row) for row, says in zip(stands, now.values(), strict=True)}
    kept = {place for place, says in places.items() if said.get(says) in as_often}
    assert kept <= now.keys()


def test_what_fails_on_the_way_leaves_all_as_it_was(con: duckdb.DuckDBPyConnection) -> None:
    con.execute("insert into kept values ('a', 1, null), ('b', 2, null)")
    with pytest.raises(ZeroDivisionError), replaced(con, {"kept": "where who = 'a'"}):
        con.execute("insert into kept values ('a', 3, null)")
        raise ZeroDivisionError
    assert rows(con, "select who, n from kept order by who") == [("a", 1), ("b", 2)]
    with replaced(con, {"kept": "where who = 'a'"}):
        assert rows(con, "from kept") == []
        con.execute("insert into kept values ('a', 3, null)")
    assert rows(con, "select who, n from kept order by who") == [("a", 3), ("b", 2)]
