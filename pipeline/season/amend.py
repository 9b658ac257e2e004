"""Decisions in a season file: which they are, and the cells that they amend."""

from typing import Any

import duckdb
import polars as pl

from pipeline.book.decisions import Place, judged
from pipeline.book.journal import Line
from pipeline.errors import DecisionError
from pipeline.intake.kinds import Kind, kinds
from pipeline.intake.reasons import REASONS
from pipeline.intake.type_sheets import type_sheets
from pipeline.season.tables import row_key, rows
from pipeline.settings import Settings

# What a decision says of its flag, in the order of the table.
DECIDED = (
    "flag",
    "rule",
    "kind",
    "sheet_no",
    "row_no",
    "row_key",
    "col",
    "value_hash",
    "holds_to",
    "action",
)


def note_decisions(
    con: duckdb.DuckDBPyConnection, line: Line, season: str, gone: set[Place]
) -> None:
    """Keep what a line decided in a season, but for what was taken back since."""
    noted = [
        [
            line.n,
            *(one.get(key) for key in DECIDED),
            one.get("new_value"),
            one.get("old_value"),
            one["because"],
            one["by"],
            line.at,
        ]
        for one in judged(line, season)
        if (line.n, one["flag"]) not in gone
    ]
    if noted:
        marks = ", ".join("?" for _ in noted[0])
        con.executemany(f"insert into decisions values ({marks})", noted)


def take_back(con: duckdb.DuckDBPyConnection, line: Line) -> None:
    """Forget a decision that a line took back; an amended cell needs the season worked out anew."""
    con.execute(
        "delete from decisions where decision_n = ? and flag = ?",
        [line.body["of"], line.body["flag"]],
    )


def note_posted(con: duckdb.DuckDBPyConnection, line: Line) -> None:
    """Keep who posted a sheet, and who stood by it as the second."""
    body = line.body
    con.execute(
        "insert into posted values (?, ?, ?, ?, ?, ?)",
        [body["sha256"], body["of"], body["by"], body["second"], line.at, line.n],
    )


def note_closed(con: duckdb.DuckDBPyConnection, line: Line) -> None:
    """Keep up to which sheet the season goes, now that it is closed."""
    body = line.body
    con.execute(
        "insert into closing values (?, ?, ?)", [body["last_sheet"], body["by"], body["second"]]
    )


def read_value(kind: Kind, col: str, text: str, settings: Settings) -> Any:
    """Type one cell the way a sheet's cells are typed; DecisionError says why it cannot be."""
    blank = {
        c.name: pl.Series([text if c.name == col else None], dtype=pl.String) for c in kind.columns
    }
    frame = pl.DataFrame(
        {
            "sheet_no": pl.Series([0], dtype=pl.Int32),
            "row_no": pl.Series([0], dtype=pl.Int32),
            **blank,
            "beyond": pl.Series([None], dtype=pl.String),
        }
    )
    typed = type_sheets(kind, frame, {}, settings)
    for _, _, _, name, value, reason in typed.unreadable.iter_rows():
        if name == col:
            what, remedy = REASONS[reason]
            raise DecisionError(f'The value "{value or ""}" {what}. {remedy}')
    return typed.rows[kind.column(col).stored][0]


def apply_amendments(
    con: duckdb.DuckDBPyConnection, line: Line, season: str, gone: set[Place], settings: Settings
) -> None:
    """Write amended values into their cells; the decision keeps the old ones."""
    for one in judged(line, season):
        if one["action"] == "amend" and (line.n, one["flag"]) not in gone:
            kind = kinds()[one["kind"]]
            value = read_value(kind, one["col"], one["new_value"], settings)
            _set_cell(con, kind, one["col"], value, one["sheet_no"], one["row_no"])


def carry_amendments(con: duckdb.DuckDBPyConnection, kind: Kind, settings: Settings) -> None:
    """Apply earlier amendments to later versions that repeat the very value that was amended."""
    amended = rows(
        con,
        "select row_key, col, old_value, new_value from decisions "
        "where kind = ? and action = 'amend' and row_key is not null order by decision_n",
        [kind.name],
    )
    for key, col, old_value, new_value in amended:
        stored = kind.column(col).stored
        places = rows(
            con,
            f"select r.sheet_no, r.row_no from rows_{kind.name} r "
            "inner join sheets s on s.sheet_no = r.sheet_no "
            "left join unreadable u on u.kind = ? and u.sheet_no = r.sheet_no "
            "and u.row_no = r.row_no and u.col = ? "
            f"where {row_key(kind)} = ? "
            # What could not be read has no typed value: its text must be the same.
            f"and coalesce(cast(r.{stored} as varchar), u.value) is not distinct from ?",
            [kind.name, col, key, old_value],
        )
        value = read_value(kind, col, new_value, settings)
        for sheet_no, row_no in places:
            _set_cell(con, kind, col, value, sheet_no, row_no)


def _set_cell(
    con: duckdb.DuckDBPyConnection, kind: Kind, col: str, value: Any, sheet_no: int, row_no: int
) -> None:
    stored = kind.column(col).stored
    con.execute(
        f"update rows_{kind.name} set {stored} = ? where sheet_no = ? and row_no = ?",
        [value, sheet_no, row_no],
    )
    for table in ("unreadable", "converted"):
        con.execute(
            f"delete from {table} where kind = ? and sheet_no = ? and row_no = ? and col = ?",
            [kind.name, sheet_no, row_no, col],
        )
