"""Cells as their sheets wrote them: what is stored has lost capitals, noughts and other units."""

from collections.abc import Callable

import polars as pl

from pipeline.book.book import Book
from pipeline.errors import DamageError
from pipeline.intake.found import Cells
from pipeline.intake.kinds import kinds
from pipeline.intake.limits import IntakeLimits
from pipeline.intake.read import NotRead, read_cells
from pipeline.intake.recognise import match_headings

# A cell's place: sheet number, row number, column.
Place = tuple[int, int, str]


def written_cells(book: Book, limits: IntakeLimits, places: pl.DataFrame) -> dict[Place, str]:
    """Return the text of cells; a cell that is empty or cannot be read now is left out.

    `places`: sheet_no, row_no, col, kind, sha256, part, one row a cell. Each sheet is read once,
    and only the rows asked for are kept.
    """

    def read(sha256: str, part: str) -> Cells | None:
        try:
            return read_cells(book.sheet(sha256), part, limits)
        except (NotRead, DamageError):
            return None

    return cells_written(read, places)


def cells_written(
    read: Callable[[str, str], Cells | None], places: pl.DataFrame
) -> dict[Place, str]:
    """Return the same; `read` gives a sheet's cells by hash and part, None where it cannot."""
    found: dict[Place, str] = {}
    for (sheet_no,), asked in places.group_by("sheet_no", maintain_order=True):
        assert isinstance(sheet_no, int)
        first = asked.row(0, named=True)
        cells = read(first["sha256"], first["part"])
        if cells is None:
            continue
        at = match_headings(kinds()[first["kind"]], cells.headings)
        rows = cells.frame.filter(pl.col("row_no").is_in(asked["row_no"].to_list()))
        by_no = {row["row_no"]: row for row in rows.iter_rows(named=True)}
        for row_no, col in asked.select("row_no", "col").iter_rows():
            text = by_no.get(row_no, {}).get(f"c{at[col]}") if col in at else None
            if text and text.strip():
                found[sheet_no, row_no, col] = text.strip()
    return found
