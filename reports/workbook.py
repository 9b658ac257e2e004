"""A season as one XLSX workbook: totals first, then a worksheet a table."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

import duckdb
import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from pipeline.intake.kinds import template_words
from reports.facts import CoopFacts
from reports.package import filled, language_of, told
from reports.package_tables import Arrow, Table
from reports.words import catalogue

# What a worksheet of the format holds, its heading among them.
MOST_ROWS = 1_048_576
# And how long its name may be.
_NAME = 31
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
        said = told(facts, made_up_to.isoformat(), personal=personal)
        say = catalogue(language_of(facts)).gettext
        created = dt.datetime.combine(made_up_to, dt.time())
        book.set_properties({"title": said[0], "created": created})
        looks = _Looks(book)
        names = [say("About")]
        about = book.add_worksheet(names[0])
        lines: list[tuple[str, str, int]] = []
        for table, found in filled(con, facts, personal=personal):
            words = table.about
            if found.num_rows < MOST_ROWS:
                names.append(worksheet_name(table.title, names))
                page = book.add_worksheet(names[-1])
                _sheet(page, looks, table, found, facts)
            else:
                words += " " + say("More rows than a worksheet holds: see the package.")
            lines.append((table.title, words, found.num_rows))
        heads = (say("Worksheet"), say("What a row is"), say("Rows"))
        _about(about, looks, said, heads, lines)


def worksheet_name(title: str, taken: Sequence[str]) -> str:
    """A title as the format lets a worksheet be named, unlike those that are taken."""
    name = title[:_NAME].rstrip(" ,'")
    lower = {one.lower() for one in taken}
    n = 1
    while name.lower() in lower:
        n += 1
        name = f"{title[: _NAME - 3].rstrip()} {n}"
    return name


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
    page: Worksheet, looks: _Looks, said: list[str], heads: tuple[str, ...],
    lines: list[tuple[str, str, int]],
) -> None:  # fmt: skip
    page.set_column(0, 0, 30)
    page.set_column(1, 1, 110)
    for at, words in enumerate(said):
        page.write_string(at, 0, words, looks.bold if at == 0 else None)
    start = len(said) + 1
    for at, head in enumerate(heads):
        page.write_string(start, at, head, looks.head)
    for at, (title, words, count) in enumerate(lines, start + 1):
        page.write_string(at, 0, title)
        page.write_string(at, 1, words)
        page.write_number(at, 2, count)


def _sheet(
    page: Worksheet, looks: _Looks, table: Table, found: Arrow, facts: CoopFacts
) -> None:  # fmt: skip
    units: dict[str, str] = template_words(language_of(facts)) | {"currency": facts.currency}
    page.freeze_panes(1, 0)
    for at, field in enumerate(table.columns):
        head: str = field["title"]
        unit = "/".join(units.get(part, part) for part in str(field.get("unit", "")).split("/"))
        # "Bags, bags" says it twice.
        unit = f", {unit}" if unit and unit.lower() not in head.lower().split() else ""
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
