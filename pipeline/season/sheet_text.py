"""The cells of many sheets of one kind as text, under the kind's column names."""

from collections.abc import Mapping, Sequence
from itertools import groupby

import numpy as np
import polars as pl

from pipeline.intake.found import Cells
from pipeline.intake.kinds import Kind
from pipeline.intake.periods import named_week
from pipeline.intake.recognise import match_headings
from pipeline.intake.settle import Front

# A sheet's number, its cells, and what somebody said for a whole column of it.
Given = tuple[int, Cells, Mapping[str, str]]


def front_of(kind: Kind, name: str, cells: Cells) -> Front:
    """Return what a sheet says outside its cells: headings, left to right, and its name's week."""
    places = match_headings(kind, cells.headings)
    ordered = sorted(places.items(), key=lambda item: item[1])
    return Front({column: cells.headings[place] for column, place in ordered}, named_week(name))


def text_of_sheets(kind: Kind, sheets: Sequence[Given]) -> pl.DataFrame:
    """Return sheet_no, row_no, a text column per column of the kind, `beyond`; at least one sheet.

    Sheets with the same headings are handled in one go, in the order given.
    """
    alike = groupby(sheets, key=lambda given: (given[1].headings, tuple(given[2].items())))
    return pl.concat([_alike(kind, list(given)) for _, given in alike])


def _alike(kind: Kind, sheets: Sequence[Given]) -> pl.DataFrame:
    _, cells, said = sheets[0]
    frame = pl.concat([one.frame for _, one, _ in sheets]) if sheets[1:] else cells.frame
    numbers = np.repeat(
        np.array([no for no, _, _ in sheets], dtype=np.int32),
        [one.frame.height for _, one, _ in sheets],
    )
    places = match_headings(kind, cells.headings)
    columns: list[pl.Expr] = []
    for column in kind.columns:
        given = pl.lit(said.get(column.name), pl.String)
        if column.name in places:
            cell = pl.col(f"c{places[column.name]}")
            empty = cell.is_null() | (cell.str.strip_chars() == "")
            given = pl.when(empty).then(given).otherwise(cell) if column.name in said else cell
        columns.append(given.alias(column.name))
    text = frame.select("row_no", *columns, "beyond")
    return text.insert_column(0, pl.Series("sheet_no", numbers, dtype=pl.Int32))
