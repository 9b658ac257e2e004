"""Cells that decisions amend: a new value typed as a sheet's cells are, and put in its place."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import duckdb
import polars as pl

from pipeline.book.decisions import Place, judged
from pipeline.book.journal import Line
from pipeline.errors import DecisionError
from pipeline.intake.kinds import Kind, kinds
from pipeline.intake.live import row_key
from pipeline.intake.measures import declared_kg
from pipeline.intake.reasons import REASONS
from pipeline.intake.type_sheets import type_sheets
from pipeline.intake.units import measured, spellings, worth_in, worth_text
from pipeline.season.filled import hold, table_of
from pipeline.season.tables import rows
from pipeline.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Amended:
    """A new value of a cell as it is stored; and, where it was converted, from which unit.

    `worth`: what one of the unit is in the column's own: "0.45359237" for lb under kg.
    """

    value: Any
    unit: str = ""
    worth: str = ""


def row_beside(
    con: duckdb.DuckDBPyConnection, kind: Kind, sheet_no: int, row_no: int
) -> dict[str, str]:
    """Return, as text, those cells of a row that a local measure beside them depends on."""
    names = [name for name in ("station", "form", kind.day) if name and kind.has(name)]
    if not names:
        return {}
    texts = ", ".join(f"cast({name} as varchar)" for name in names)
    place = "where sheet_no = ? and row_no = ?"
    found = rows(con, f"select {texts} from rows_{kind.name} {place}", [sheet_no, row_no])
    return dict(zip(names, found[0], strict=True)) if found else {}


def read_value(
    kind: Kind, col: str, text: str, settings: Settings, beside: Mapping[str, str | None]
) -> Amended:
    """Type one cell the way a sheet's cells are typed; DecisionError says why it cannot be.

    `beside`: other cells of its row, as `row_beside` gives them.
    """
    given = {**beside, col: text}
    blank = {c.name: pl.Series([given.get(c.name)], dtype=pl.String) for c in kind.columns}
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
    value = typed.rows[kind.column(col).stored][0]
    for _, _, _, name, unit in typed.converted.iter_rows():
        if name == col:
            worth = _worth(kind, col, unit, settings, beside)
            return Amended(value=value, unit=unit, worth=worth)
    return Amended(value=value)


def _worth(
    kind: Kind, col: str, unit: str, settings: Settings, beside: Mapping[str, str | None]
) -> str:
    column = kind.column(col)
    quantity, _ = measured(column)
    if not quantity:
        return ""
    if unit in spellings(quantity).values():
        return worth_text(worth_in(column, unit, settings.sheets.quintal_kg))
    day = date.fromisoformat(beside.get(kind.day) or "")
    station, form = beside.get("station") or "", beside.get("form") or ""
    kg = declared_kg(unit, station, form, day, settings)
    return "" if kg is None else f"{kg.normalize():f}"


def apply_amendments(
    con: duckdb.DuckDBPyConnection, line: Line, season: str, gone: set[Place], settings: Settings
) -> None:
    """Write amended values into their cells; the decision keeps the old ones."""
    for one in judged(line, season):
        if one["action"] == "amend" and (line.n, one["flag"]) not in gone:
            # What a unit was worth when it was decided stands, whatever is declared since.
            text = one.get("reads") or one["new_value"]
            _set_cell(con, one, read_value(kinds()[one["kind"]], one["col"], text, settings, {}))


def carry_amendments(con: duckdb.DuckDBPyConnection, kind: Kind, settings: Settings) -> None:
    """Apply earlier amendments to later versions that repeat the very value that was amended."""
    amended = rows(
        con,
        "select row_key, col, old_value, coalesce(reads, new_value), unit from decisions "
        "where kind = ? and action = 'amend' and row_key is not null order by decision_n",
        [kind.name],
    )
    for key, col, old_value, text, unit in amended:
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
        value = read_value(kind, col, text, settings, {})
        for sheet_no, row_no in places:
            place = {"sheet_no": sheet_no, "row_no": row_no, "col": col, "unit": unit}
            _set_cell(con, {"kind": kind.name, **place}, value)


def _set_cell(con: duckdb.DuckDBPyConnection, one: Mapping[str, Any], amended: Amended) -> None:
    kind = kinds()[one["kind"]]
    place = [one["sheet_no"], one["row_no"]]
    stored = kind.column(one["col"]).stored
    hold(con, kind, [stored])
    con.execute(
        f"update {table_of(kind)} set {stored} = ? where sheet_no = ? and row_no = ?",
        [amended.value, *place],
    )
    cell = [kind.name, *place, one["col"]]
    for table in ("unreadable", "converted"):
        con.execute(
            f"delete from {table} where kind = ? and sheet_no = ? and row_no = ? and col = ?", cell
        )
    if one.get("unit"):
        con.execute("insert into converted values (?, ?, ?, ?, ?)", [*cell, one["unit"]])
