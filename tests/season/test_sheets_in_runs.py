"""Coffee finds its value in some sheets after others, where they are many."""

from pathlib import Path

import pytest

from pipeline.season.schema import create_tables
from pipeline.season.tables import connect, rows, season_sql
from pipeline.upkeep import rebuild
from tests.take.small import made, registers, sheet, tables, taken

MONEY = ("settlements", "movements", "untaken", "member_coffee", "member_season")


def test_runs_follow_on_each_other_and_leave_no_sheet_out() -> None:
    with connect(":memory:", read_only=False, macros=True) as con:
        create_tables(con)
        con.execute(
            "insert into sheets (sheet_no, sha256, name, kind, version, taken_day, arrived) "
            "select no, '', '', if(no = 5, 'payments', 'weighings'), 1, date '2026-05-04', arrived "
            "from (values (2, 4), (3, 6), (5, 90), (6, 1), (7, 20), (8, 3)) as t (no, arrived)"
        )
        text = season_sql("sheets_in_runs")
        assert rows(con, text, {"most": 10}) == [(2, 3), (6, 7), (8, 8)]
        assert rows(con, text, {"most": 1}) == [(no, no) for no in (2, 3, 6, 7, 8)]
        assert rows(con, text, {"most": None}) == [(2, 8)]


def test_coffee_of_many_runs_is_paid_as_that_of_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    book = made(tmp_path / "book")
    weighed = [
        sheet(tmp_path, f"kes_2026-W{19 + n}.csv", "weighings", [{"receipt_no": str(n)}])
        for n in range(3)
    ]
    taken(book, *registers(tmp_path), *weighed)
    at_once = tables(book, *MONEY)
    assert len(at_once["settlements"]) == 3
    monkeypatch.setattr("pipeline.season.money.AT_ONCE", 1)
    rebuild(book)
    assert tables(book, *MONEY) == at_once
