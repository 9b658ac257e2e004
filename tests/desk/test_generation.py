"""A season file as the pages see it, before and after all is in memory that makes them quick."""

import time
from concurrent.futures import ThreadPoolExecutor

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


def test_who_puts_weighings_in_order_waits_for_whoever_reads(desk: Desk) -> None:
    one = Generation(must_have(desk.book, "2026"), kept_settings(desk.book.journal()))
    with ThreadPoolExecutor() as beside, one.cursor() as con, one.cursor() as other:
        con.execute("begin")
        con.execute("select count(*) from quick.known").fetchall()
        order = beside.submit(one.put_in_order)
        while rows(other, WHERE) == [(0,)]:
            assert not order.done(), order.result()
        con.execute("commit")
        order.result()
    assert one.in_order


def test_the_desk_puts_its_weighings_in_order_when_it_has_nothing_to_do(desk: Desk) -> None:
    for _ in range(200):
        if all(one.in_order for one in desk.office.desk.sight().generations.values()):
            return
        time.sleep(0.1)
    raise AssertionError("not in order in time")
