"""A season file as the pages see it, before and after all is in memory that makes them quick."""

import time

from pipeline.book.book import kept_settings
from pipeline.desk.generation import Generation
from pipeline.season.generations import must_have
from pipeline.season.tables import rows
from tests.desk.conftest import Desk
from tests.take.small import ASHA

OF_ONE = "select * from weighings_valued where member_no = ? order by day, sheet_no, row_no"
WHERE = (
    "select count(*) from duckdb_tables() "
    "where database_name = 'quick' and table_name = 'weighings_valued'"
)


def test_pages_read_the_same_before_and_after_weighings_are_in_order(desk: Desk) -> None:
    settings = kept_settings(desk.book.journal())
    one = Generation(must_have(desk.book, "2026"), settings)
    with one.cursor() as con:
        assert rows(con, WHERE) == [(0,)]
        before = rows(con, OF_ONE, [ASHA])
        one.put_in_order()
        assert rows(con, WHERE) == [(1,)]
        assert rows(con, OF_ONE, [ASHA]) == before != []
    assert one.totals.season["value_minor"] > 0


def test_weighings_are_put_in_order_while_a_page_is_read(desk: Desk) -> None:
    one = Generation(must_have(desk.book, "2026"), kept_settings(desk.book.journal()))
    with one.cursor() as con:
        con.execute("begin")
        assert rows(con, "select count(*) from quick.known") != [(0,)]
        one.put_in_order()
        con.execute("commit")
        assert rows(con, WHERE) == [(1,)] and not one.in_order
        one.put_in_order()
        assert one.in_order


def test_the_desk_puts_its_weighings_in_order_when_it_has_nothing_to_do(desk: Desk) -> None:
    for _ in range(200):
        if all(one.in_order for one in desk.office.desk.sight().generations.values()):
            return
        time.sleep(0.1)
    raise AssertionError("not in order in time")
