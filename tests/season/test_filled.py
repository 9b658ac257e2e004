"""Tables of kinds' rows get their columns with the first value; rows come in their order."""

from pathlib import Path

import duckdb
import polars as pl
import pytest

import pipeline.coffee
import pipeline.season.frames
from pipeline.intake.kinds import Kind, kinds
from pipeline.intake.stored import sql_type
from pipeline.season.frames import Inserter, insert_frame, insert_rows
from pipeline.season.schema import MADE_IN_CODE, create_tables
from pipeline.season.tables import connect, rows

CREDIT = kinds()["credit"]
NAMES = ["sheet_no", "row_no", *(column.stored for column in CREDIT.columns)]


def columns(con: duckdb.DuckDBPyConnection, name: str) -> dict[str, str]:
    return {column: sql for (column, sql, *_) in rows(con, f"describe {name}")}


def frame(first: int, last: int, **cells: object) -> pl.DataFrame:
    """Rows of credit, all columns of the kind, null where none is given."""
    numbers = {"sheet_no", "row_no", "amount_minor"}
    places = pl.int_range(first, last + 1, eager=True)
    return (
        pl.DataFrame({"row_no": places, "sheet_no": [1] * len(places)})
        .with_columns(
            pl.lit(cells.get(name)).cast(pl.Int64 if name in numbers else pl.String).alias(name)
            for name in NAMES[2:]
        )
        .select(NAMES)
    )


def put(con: duckdb.DuckDBPyConnection, name: str, given: pl.DataFrame) -> None:
    insert_rows(con, kinds()[name], given)


def shown(kind: Kind) -> dict[str, str]:
    declared = {column.stored: sql_type(column).replace(", ", ",") for column in kind.columns}
    return {"sheet_no": "INTEGER", "row_no": "INTEGER"} | declared


def test_a_column_comes_with_its_first_value_and_is_shown_before(
    con: duckdb.DuckDBPyConnection,
) -> None:
    assert columns(con, "rows_credit") == shown(CREDIT)
    insert_rows(con, CREDIT, frame(2, 3, member_no="1", amount_minor=500))
    assert [*columns(con, "filled_credit")] == ["sheet_no", "row_no", "member_no", "amount_minor"]
    insert_rows(con, CREDIT, frame(4, 4, note_no="N-1", amount_minor=700))
    assert [*columns(con, "filled_credit")][4:] == ["note_no"]
    assert [*columns(con, "rows_credit").items()] == [*shown(CREDIT).items()]
    found = rows(con, "select row_no, note_no, member_no, amount_minor, item from rows_credit")
    assert found == [
        (2, None, "1", 500, None),
        (3, None, "1", 500, None),
        (4, "N-1", None, 700, None),
    ]
    assert rows(con, "select count(*) from credit where state = 'counted'") == [(3,)]


def test_rows_come_in_their_order_whatever_is_left_over(
    con: duckdb.DuckDBPyConnection, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pipeline.season.frames, "ROW_GROUP", 4)
    monkeypatch.setattr(pipeline.season.frames, "MOST_UNDER_WAY", 8)
    for in_turn in (False, True):
        con.execute("delete from filled_credit")
        into = Inserter(con, put, in_turn=in_turn)
        into.insert({"credit": frame(2, 4, note_no="N")})
        into.insert({"credit": frame(5, 14, amount_minor=1)})
        into.insert({"credit": frame(15, 15, member_no="1")})
        into.finish()
        into.wait()
        into.close()
        found = rows(con, "select row_no, note_no, amount_minor, member_no from rows_credit")
        assert found == [
            *((row, "N", None, None) for row in range(2, 5)),
            *((row, None, 1, None) for row in range(5, 15)),
            (15, None, None, "1"),
        ]


def test_what_goes_in_to_the_last_row_is_written_out(con: duckdb.DuckDBPyConnection) -> None:
    con.execute("begin transaction")
    into = Inserter(con, put)
    into.insert({"credit": frame(2, 4, note_no="N")}, to_the_last=True)
    into.insert({"credit": frame(5, 9, note_no="N")})
    into.wait()
    into.close()
    con.execute("rollback")
    assert rows(con, "select row_no from rows_credit") == [(2,), (3,), (4,)]


def test_an_error_in_the_thread_is_raised_where_it_is_waited_for(
    con: duckdb.DuckDBPyConnection,
) -> None:
    into = Inserter(con, insert_frame)
    into.insert({"no_such_table": frame(2, 2)})
    into.finish()
    with pytest.raises(duckdb.Error, match="no_such_table"):
        into.wait()
    into.close()


def test_only_what_names_rows_is_written_as_it_is(tmp_path: Path) -> None:
    with connect(str(tmp_path / "s.duckdb"), read_only=False, macros=True) as con:
        create_tables(con)
        given = frame(1, 5_000, item="FERTILISER")
        names = pl.format("M-{}", "row_no").alias("member_no")
        insert_rows(con, CREDIT, given.with_columns(names))
        con.execute("checkpoint")
        written = dict(
            rows(
                con,
                "select column_name, any_value(compression) from "
                "pragma_storage_info('filled_credit') where segment_type = 'VARCHAR' group by all",
            )
        )
        assert written == {"member_no": "Uncompressed", "item": "DICT_FSST"}
        con.execute("update filled_credit set member_no = 'M-0' where row_no = 9")
        found = rows(con, "select member_no from rows_credit where row_no in (9, 10) order by all")
        assert found == [("M-0",), ("M-10",)]


def test_a_season_file_is_made_anew_where_code_follows_coffee_otherwise() -> None:
    there = {path.stem for path in Path(pipeline.coffee.__file__).parent.glob("*.py")}
    assert {*MADE_IN_CODE["pipeline.coffee"]} == there - {"__init__"}
