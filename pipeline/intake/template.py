"""Blank sheets: the headings, units and words that a kind of sheet is sent in with."""

import csv
import datetime as dt
import io
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.utility import xl_range_abs
from xlsxwriter.worksheet import Worksheet

from pipeline.intake.kinds import Column, Kind, template_words

# How a spreadsheet shows what is typed into a column; all other columns are text.
NUMBER_FORMATS = {
    "date": "yyyy-mm-dd",
    "time": "hh:mm",
    "integer": "0",
    "kg": "0.0##",
    "percent": "0.0#",
    "metres": "0.0#",
    "hectares": "0.00##",
    "price": "0.0000",
    "days": "0.0",
    "quantity": "0.###",
    "degrees": "0.000000",
    "money": "0.00",
}
# Rows with drop-downs: more than a week's sheet has.
ROWS = 5000
# One date for all, or the same declaration would give other bytes tomorrow.
_CREATED = dt.datetime(2000, 1, 1)

Row = Mapping[str, str]


def headings(kind: Kind, language: str = "en") -> list[str]:
    """Return the headings of a blank sheet, each with its unit where it has one."""
    return [column.heading(language) for column in kind.columns]


def examples(kind: Kind, language: str = "en") -> Row:
    """Return a row of the declared examples, by column name, in the words of a language."""
    return {column.name: column.example_in(language) for column in kind.columns}


def template_csv(kind: Kind, language: str = "en", rows: Sequence[Row] = ()) -> bytes:
    """Return a blank CSV, or one with rows: UTF-8 with the mark that spreadsheets look for."""
    text = io.StringIO(newline="")
    out = csv.writer(text)
    out.writerow(headings(kind, language))
    out.writerows([row.get(column.name, "") for column in kind.columns] for row in rows)
    return text.getvalue().encode("utf-8-sig")


def write_template(path: Path, kind: Kind, language: str = "en", rows: Sequence[Row] = ()) -> None:
    """Write a blank XLSX, or one with rows; the same declaration gives the same bytes.

    Headings carry notes, columns their formats and bounds, choice columns the words of the language
    to pick from. A second worksheet says how to fill it in.
    """
    words = template_words(language)
    # Opened here, so that a folder that refuses it says so as any other does.
    with path.open("wb") as file, xlsxwriter.Workbook(file, {"strings_to_formulas": False}) as book:
        book.set_properties({"title": kind.titles[language], "created": _CREATED})
        page = book.add_worksheet(words["sheet"])
        how = book.add_worksheet(words["how"])
        head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
        lists = _write_how_to(how, kind, language, head, book.add_format({"text_wrap": True}))
        for at, column in enumerate(kind.columns):
            style = book.add_format({"num_format": NUMBER_FORMATS.get(column.type, "@")})
            page.set_column(at, at, _width(column, language), style)
            page.write_string(0, at, column.heading(language), head)
            page.write_comment(0, at, note(column, language), {"x_scale": 2, "author": ""})
            allowed = _allowed(column, lists.get(column.name, ""))
            if allowed:
                page.data_validation(1, at, ROWS, at, allowed)
            for row_at, row in enumerate(rows, start=1):
                _write(page, row_at, at, column, row.get(column.name, ""), style)
        page.freeze_panes(1, 0)


def note(column: Column, language: str = "en") -> str:
    """Return the note on a heading: what it is, whether it may be empty, its form, an example."""
    words = template_words(language)
    lines = [column.about, words["needed"] if column.required else words["may_be_empty"]]
    if column.type in ("date", "time"):
        lines.append(words[column.type])
    if column.unit:
        lines.append(f"{words['unit']}: {column.unit_in(language)}")
    return "\n".join([*lines, f"{words['example']}: {column.example_in(language)}"])


def _allowed(column: Column, words: str) -> dict[str, Any]:
    """Return what a spreadsheet lets be typed into a column: words of a list, or its bounds."""
    if words:
        return {"validate": "list", "source": words}
    least, most = column.least or column.above, column.most
    kind = {"validate": "integer" if column.type == "integer" else "decimal"}
    if least and most:
        return kind | {"criteria": "between", "minimum": float(least), "maximum": float(most)}
    if least:
        return kind | {"criteria": ">=" if column.least else ">", "value": float(least)}
    return kind | {"criteria": "<=", "value": float(most)} if most else {}


def _width(column: Column, language: str) -> int:
    if column.choices:
        return max(10, *(len(word) + 3 for word in column.words(language).values()))
    return 26 if column.type in ("text", "geometry") else 13


def _write_how_to(
    page: Worksheet, kind: Kind, language: str, head: Format, plain: Format
) -> dict[str, str]:
    """Write the second worksheet and return, by column, where the words of its list stand."""
    words = template_words(language)
    titles = [words[key] for key in ("heading", "unit", "empty", "example", "about")]
    page.write_string(0, 0, kind.abouts[language])
    for at, title in enumerate(titles):
        page.write_string(2, at, title, head)
    lists: dict[str, str] = {}
    for number, column in enumerate(kind.columns, start=3):
        cells = (
            column.heading(language),
            column.unit_in(language),
            words["no"] if column.required else words["yes"],
            column.example_in(language),
            column.about,
        )
        for at, cell in enumerate(cells):
            page.write_string(number, at, cell, plain)
        if column.choices:
            # The lists stand to the right of the table, since a list in a rule holds 255 letters.
            at, shown = len(titles) + 1 + len(lists), column.words(language).values()
            page.write_string(2, at, column.heading(language), head)
            for row_at, word in enumerate(shown, start=3):
                page.write_string(row_at, at, word)
            place = xl_range_abs(3, at, 2 + len(shown), at)
            lists[column.name] = f"='{page.get_name()}'!{place}"
    if lists:
        page.write_string(1, len(titles) + 1, words["words"])
        page.set_column(len(titles) + 1, len(titles) + len(lists), 20)
    page.set_column(0, 3, 22)
    page.set_column(4, 4, 60)
    page.freeze_panes(3, 1)
    return lists


def _write(page: Worksheet, row_at: int, at: int, column: Column, text: str, style: Format) -> None:
    """Write a cell as its column's type, or as text where it is none of that type."""
    if not text:
        return
    form: Any = NUMBER_FORMATS.get(column.type)
    try:
        if column.type == "date":
            page.write_datetime(row_at, at, dt.datetime.fromisoformat(text), style)
        elif column.type == "time":
            # A time of day is the part of a day gone by.
            time = dt.time.fromisoformat(text)
            page.write_number(row_at, at, (time.hour * 60 + time.minute) / 1440, style)
        elif form:
            page.write_number(row_at, at, float(text), style)
        else:
            page.write_string(row_at, at, text, style)
    except ValueError:
        page.write_string(row_at, at, text, style)
