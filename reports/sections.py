"""The one look of every section of a report: title, sentences, lines of money, parts, a note."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from reports.facts import Row
from reports.report_columns import fitted


def section(
    key: str,
    title: str,
    *,
    says: Sequence[str] = (),
    lines: Sequence[Row] = (),
    parts: Sequence[Row | None] = (),
    bullets: Sequence[str] = (),
    note: str = "",
) -> Row:
    """A section as the templates print it, from top to bottom in the order of the arguments.

    `lines`: label, note, amount and code of a figure, the last one the sum. `parts`: of `part`;
    None is left out. `note`: small print under all.
    """
    return {
        "key": key,
        "title": title,
        "says": [say for say in says if say],
        "lines": list(lines),
        "parts": [one for one in parts if one is not None],
        "bullets": list(bullets),
        "note": note,
    }


def part(
    *, title: str = "", svg: str = "", alt: str = "", cut: str = "", table: Row | None = None
) -> Row:
    """A heading, a drawing with its words for who cannot see it, and the figures behind it.

    The table's `columns` are their widths on paper, in points.
    """
    if table is not None:
        wide = fitted(table["heads"], table["rows"], table["text"], table["sum"])
        table = table | {"columns": wide}
    return {"title": title, "svg": svg, "alt": alt, "cut": cut, "table": table}


def table(
    heads: Sequence[str],
    rows: Sequence[Sequence[Any]],
    *,
    text: int = 1,
    total: Sequence[str] = (),
) -> Row:
    """A table: headings, rows of cells, the number of leading text columns, the row of sums.

    A cell is a string, `two_lines` or `coded`.
    """
    return {
        "heads": list(heads),
        "rows": [list(row) for row in rows],
        "text": text,
        "sum": list(total),
    }


def two_lines(text: str, small: str) -> Row:
    """A cell with small print under its text."""
    return {"text": text, "small": small, "code": False}


def coded(text: str, code: str) -> Row:
    """A cell with a figure's code under its text, which is never broken."""
    return {"text": text, "small": code, "code": True}
