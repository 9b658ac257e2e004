"""A season as one XLSX workbook: totals first, then a worksheet a table."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from pathlib import Path
from typing import Any

import duckdb
import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from reports.facts import CoopFacts
from reports.package import filled
from reports.package_tables import Arrow, Table

# What a worksheet of the format holds, its heading among them.
MOST_ROWS = 1_048_576
# A number of the format keeps fifteen digits; a longer one is written as text.
_DIGITS = 15


def write_workbook(
    con: duckdb.DuckDBPyConnection, facts: CoopFacts, path: Path, *, made_up_to: dt.date,
    personal: bool,
) -> None:  # fmt: skip
    """Writes the workbook; text is never a formula, and the same season gives the same bytes.

    A table with more rows than a worksheet holds is left out, and the first worksheet says so.
    """
    options = {"strings_to_formulas": False, "strings_to_urls": False, "constant_memory": True}
    with xlsxwriter.Workbook(path, options) as book:
        title = f"{facts.name}, season {facts.season}"
        created = dt.datetime.combine(made_up_to, dt.time())
        book.set_properties({"title": title, "created": created})
        looks = _Looks(book)
        about = book.add_worksheet("About")
        lines: list[tuple[str, str, int]] = []
        for table, found in filled(con, facts, personal=personal):
            lines.append((table.title, table.about, found.num_rows))
            if found.num_rows < MOST_ROWS:
                _sheet(book.add_worksheet(table.title[:31]), looks, table, found)
        _about(about, looks, [
            title,
            f"Made up to {made_up_to.isoformat()}. Money in {facts.currency}, weights in kg.",
            "Personal columns are in it." if personal else "Personal columns are left out.",
        ], lines)  # fmt: skip


class _Looks:
    """The formats of cells."""

    def __init__(self, book: Any) -> None:
        self.head: Format = book.add_format({"bold": True, "bottom": 1, "valign": "top"})
        self.bold: Format = book.add_format({"bold": True, "font_size": 14})
        self.day: Format = book.add_format({"num_format": "yyyy-mm-dd"})
        self.text: Format = book.add_format({"num_format": "@"})
        self.number = {
            scale: book.add_format({"num_format": "#,##0" + ("." + "0" * scale if scale else "")})
            for scale in range(7)
        }


def _about(
    page: Worksheet, looks: _Looks, said: list[str], lines: list[tuple[str, str, int]]
) -> None:
    page.set_column(0, 0, 30)
    page.set_column(1, 1, 110)
    for at, words in enumerate(said):
        page.write_string(at, 0, words, looks.bold if at == 0 else None)
    start = len(said) + 1
    for at, head in enumerate(("Worksheet", "What a row is", "Rows")):
        page.write_string(start, at, head, looks.head)
    for at, (title, words, count) in enumerate(lines, start + 1):
        over = "" if count < MOST_ROWS else " More rows than a worksheet holds: see the package."
        page.write_string(at, 0, title)
        page.write_string(at, 1, words + over)
        page.write_number(at, 2, count)


def _sheet(page: Worksheet, looks: _Looks, table: Table, found: Arrow) -> None:
    page.freeze_panes(1, 0)
    for at, field in enumerate(table.columns):
        unit = f", {field['unit']}" if "unit" in field else ""
        head = field.get("title") or field["name"].replace("_", " ").capitalize()
        page.set_column(at, at, max(10, min(40, len(head + unit) + 2)))
        page.write_string(0, at, head + unit, looks.head)
    page.autofilter(0, 0, found.num_rows, len(table.columns) - 1)
    at = 1
    for batch in found.to_batches(max_chunksize=10_000):
        for row in zip(*(column.to_pylist() for column in batch.columns), strict=True):
            for col, value in enumerate(row):
                if value is not None:
                    _cell(page, looks, at, col, value)
            at += 1


def _cell(page: Worksheet, looks: _Looks, row: int, col: int, value: Any) -> None:
    if isinstance(value, Decimal | int) and not isinstance(value, bool):
        number = Decimal(value)
        if len(number.as_tuple().digits) <= _DIGITS:
            scale = -int(number.as_tuple().exponent)
            page.write_number(row, col, float(number), looks.number[max(0, min(scale, 6))])
            return
    if isinstance(value, dt.date):
        page.write_datetime(row, col, dt.datetime.combine(value, dt.time()), looks.day)
    else:
        page.write_string(row, col, str(value), looks.text)
