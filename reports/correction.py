"""The sheet a clerk gets back: its own headings and cells, and what to put right in each row."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from pipeline.intake.corrected import correction_headings
from pipeline.intake.words import said

# Characters with which a spreadsheet begins a formula or a command.
_LEADS = ("=", "+", "-", "@", "\t", "\r")
_NUMBER = re.compile(r"[+-]?[0-9]+([.,][0-9]+)*%?")
# One date for all, or the same rows would give other bytes tomorrow.
_CREATED = dt.datetime(2000, 1, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class SentBack:
    """One row sent back: its number on the sheet, its cells as written, and the two sentences."""

    row_no: int
    cells: Sequence[str | None]
    wrong: str
    todo: str


def write_correction(
    path: Path,
    sheet_name: str,
    headings: Sequence[str],
    rows: Iterable[SentBack],
    *,
    language: str = "en",
    notes: Sequence[str] = (),
) -> None:
    """Writes an XLSX of the rows sent back, every cell a string and none a formula.

    The sheet's own headings come first, in their order, so that it may be mended and sent again;
    the four added columns are left out by whoever reads it. `notes`: how the sheet as a whole was
    read, as a comment on the heading of what is wrong. The same rows give the same bytes.
    """
    with xlsxwriter.Workbook(path, {"strings_to_formulas": False}) as book:
        book.set_properties({"title": sheet_name, "created": _CREATED})
        page = book.add_worksheet(said("corrections", language))
        head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
        plain = book.add_format({"text_wrap": True, "valign": "top", "num_format": "@"})
        _write(page, 0, [*headings, *correction_headings(language)], head)
        if notes:
            told = "\n".join([f"{said('read_as', language)}{said('colon', language)}", *notes])
            page.write_comment(
                0, len(headings) + 2, told, {"x_scale": 3, "y_scale": 2, "author": ""}
            )
        for at, row in enumerate(rows, start=1):
            _write(page, at, _whole(row, sheet_name, len(headings)), plain)
        page.freeze_panes(1, 0)
        page.set_column(0, max(len(headings) - 1, 0), 14)
        page.set_column(len(headings), len(headings), 24)
        page.set_column(len(headings) + 1, len(headings) + 1, 6)
        page.set_column(len(headings) + 2, len(headings) + 3, 48)
        page.set_landscape()
        page.fit_to_pages(1, 0)
        page.repeat_rows(0)


def _whole(row: SentBack, sheet_name: str, width: int) -> list[str]:
    """A row's cells, short rows filled up and long ones kept, then the four added cells."""
    cells = [cell or "" for cell in row.cells]
    if len(cells) > width:
        # What stood past the last heading must not fall under an added one.
        cells[width - 1 :] = [" | ".join(cells[width - 1 :])]
    cells += [""] * (width - len(cells))
    return [*cells, sheet_name, str(row.row_no), row.wrong, row.todo]


def _write(page: Worksheet, at: int, cells: Sequence[str], style: Format) -> None:
    for column, cell in enumerate(cells):
        page.write_string(at, column, cell, style)


def quoted(cell: str) -> str:
    """A text cell that no spreadsheet takes for a formula: `=cmd` gives `'=cmd`, -1.5 stays."""
    return "'" + cell if cell.startswith(_LEADS) and not _NUMBER.fullmatch(cell) else cell
