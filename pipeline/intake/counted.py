"""What sheets say whose cells can be read as they stand: each text is read once, and counted.

Most sheets name one station and recorder in all rows, and a day in many rows one after another.
"""

from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import polars as pl

from pipeline.intake.cells import type_rows
from pipeline.intake.found import Cells
from pipeline.intake.kinds import Kind
from pipeline.intake.recognise import match_headings
from pipeline.intake.shifted import CELLS_NOT_READ
from pipeline.intake.speaks import Spoken, said_by

# A sheet's key and the name of a column, and the texts of the cells there, null for empty ones,
# each with how many have it.
_Place = tuple[int, str]
_Texts = dict[str | None, int]
# The value of each text that can be read, null for an empty one.
_Values = Mapping[str | None, Any]


def spoken_as_written(
    sheets: Mapping[int, tuple[Kind, Cells]], money_decimals: int, no_recorders: Collection[str]
) -> dict[int, Spoken]:
    """Return what those sheets say, by their key in `sheets`, that need no closer look.

    Left out are sheets with a cell that stands beyond the headings, a day that lacks or cannot be
    read as it stands, or such cells in two columns: what they say may hang on their other cells.
    Their kinds have only columns that tell something; `no_recorders`: as for `spoken_by_sheet`.
    """
    texts = _texts(sheets)
    values = _values(sheets, texts, money_decimals)
    found: dict[int, Spoken] = {}
    for n, (kind, cells) in sheets.items():
        height = cells.frame.height
        told = {c.name: _told(texts[c.type][n, c.name], values[c.type]) for c in kind.columns}
        odd = [c for c in kind.columns if not _complete(told[c.name], height, c.required)]
        # A day is read as the others are written, and cells not read side by side may be shifted.
        closer = any(c.type == "date" for c in odd) or len(odd) >= CELLS_NOT_READ
        if not closer and cells.frame["beyond"].null_count() == height:
            found[n] = said_by(kind, height, told, no_recorders)
    return found


def _told(texts: _Texts, values: _Values) -> list[tuple[Any, int]]:
    return [(values[text], count) for text, count in texts.items() if text in values]


def _complete(told: list[tuple[Any, int]], height: int, required: bool) -> bool:
    read = sum(count for value, count in told if value is not None or not required)
    return read == height


def _texts(sheets: Mapping[int, tuple[Kind, Cells]]) -> dict[str, dict[_Place, _Texts]]:
    """Return the texts by the type of their column.

    Cells of one type are counted in one go: it is calls that take time, not cells.
    """
    found: dict[str, dict[_Place, _Texts]] = {}
    given: dict[str, dict[_Place, pl.Series]] = {}
    for n, (kind, cells) in sheets.items():
        places = match_headings(kind, cells.headings)
        for column in kind.columns:
            found.setdefault(column.type, {})[n, column.name] = {None: cells.frame.height}
            if column.name in places and cells.frame.height:
                own = cells.frame[f"c{places[column.name]}"]
                given.setdefault(column.type, {})[n, column.name] = own
    for name, columns in given.items():
        found[name] |= _counted(columns)
    return found


def _counted(columns: Mapping[_Place, pl.Series]) -> dict[_Place, _Texts]:
    runs = pl.concat(columns.values()).rle().struct.unnest()
    texts = runs["value"].to_list()
    # A run of equal cells may go on from column to column: it ends with each of them.
    run_ends = np.cumsum(runs["len"].to_numpy(), dtype=np.int64)
    column_ends = np.cumsum([column.len() for column in columns.values()])
    ends = np.union1d(run_ends, column_ends)
    found: list[_Texts] = [{} for _ in columns]
    for own, text, height in zip(
        [found[int(at)] for at in np.searchsorted(column_ends, ends)],
        [texts[int(at)] for at in np.searchsorted(run_ends, ends)],
        np.diff(ends, prepend=0).tolist(),
        strict=True,
    ):
        own[text] = own.get(text, 0) + height
    return dict(zip(columns, found, strict=True))


def _values(
    sheets: Mapping[int, tuple[Kind, Cells]],
    texts: Mapping[str, Mapping[_Place, _Texts]],
    money_decimals: int,
) -> dict[str, _Values]:
    """Return by type what its texts mean that can be read each by itself."""
    if not texts:
        return {}
    # A column of any kind stands for all of its type: how cells are read hangs on that alone.
    kind = next(kind for kind, _ in sheets.values())
    some = {column.type: column for kind, _ in sheets.values() for column in kind.columns}
    columns = tuple(replace(some[name], name=name, required=False) for name in texts)
    distinct = {
        name: [*dict.fromkeys(text for texts in of_type.values() for text in texts)]
        for name, of_type in texts.items()
    }
    height = max(map(len, distinct.values()))
    # The shorter columns are filled up with what they hold.
    filled = {name: own + own[-1:] * (height - len(own)) for name, own in distinct.items()}
    places = {"sheet_no": np.zeros(height, np.int32), "row_no": np.arange(height, dtype=np.int32)}
    cells = {**filled, "beyond": [None] * height}
    text = pl.DataFrame({**places, **cells}, schema_overrides=dict.fromkeys(cells, pl.String))
    typed = type_rows(replace(kind, columns=columns), text, money_decimals)
    unread = {*typed.unreadable.select("col", "row_no").iter_rows()}
    return {
        name: {
            text: value
            for row_no, (text, value) in enumerate(zip(own, typed.rows[name], strict=False))
            if (name, row_no) not in unread
        }
        for name, own in distinct.items()
    }
