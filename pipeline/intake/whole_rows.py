"""Rows that cannot be read as a whole: one reason for the row in place of those of its cells."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import polars as pl

from pipeline.intake.cells import TypedRows
from pipeline.intake.found import BROKEN, shortened
from pipeline.intake.kinds import Kind
from pipeline.intake.reasons import reason

LONGEST_SHOWN = 30


@dataclass(frozen=True, slots=True)
class WholeRow:
    """A row with its one reason; what stands under `columns` is no value of theirs."""

    sheet_no: int
    row_no: int
    reason: str
    value: str | None
    columns: frozenset[str]


def with_one_reason(kind: Kind, typed: TypedRows, found: Sequence[WholeRow]) -> TypedRows:
    """Return typed rows in which each of the rows found has its one reason, and no wrong values.

    A value under a heading that is not its own would be judged by every rule: it is emptied.
    """
    if not found:
        return typed
    key = {"sheet_no": pl.Int32, "row_no": pl.Int32}
    # No column is named: mending one cell must not make the row count with all its others wrong.
    one = pl.DataFrame(
        [(kind.name, row.sheet_no, row.row_no, "", row.value, row.reason) for row in found],
        schema=typed.unreadable.schema,
        orient="row",
    )
    others = typed.unreadable.join(one, on=list(key), how="anti", maintain_order="left")
    rows = typed.rows
    for columns in sorted({row.columns for row in found}, key=sorted):
        at = [(row.sheet_no, row.row_no) for row in found if row.columns == columns]
        marked = pl.DataFrame(at, schema=key, orient="row").with_columns(pl.lit(True).alias("no"))
        none = rows.join(marked, on=list(key), how="left", maintain_order="left")["no"].is_null()
        stored = [column.stored for column in kind.columns if column.name in columns]
        rows = rows.with_columns(pl.when(none).then(pl.col(stored)))
    return replace(typed, rows=rows, unreadable=pl.concat([others, one]))


def mark_broken(kind: Kind, text: pl.DataFrame, typed: TypedRows) -> TypedRows:
    """Give each row whose quotation marks do not close one reason, which shows the first cell."""
    broken = text.filter(pl.col("beyond").str.contains(BROKEN, literal=True))
    columns = frozenset(column.name for column in kind.columns)
    found: list[WholeRow] = []
    for sheet_no, row_no, told in broken.select("sheet_no", "row_no", "beyond").iter_rows():
        _, cell, line = [*told.split(BROKEN, 2), ""][:3]
        why = reason("broken-quotes", str(row_no), shortened(cell, LONGEST_SHOWN))
        found.append(WholeRow(sheet_no, row_no, why, line, columns))
    return with_one_reason(kind, typed, found)
