"""The one look of every section of a report: title, sentences, lines of money, parts, a note."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from reports.facts import Row


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
    """A heading, a drawing with its words for who cannot see it, and the figures behind it."""
    return {"title": title, "svg": svg, "alt": alt, "cut": cut, "table": table}


def table(
    heads: Sequence[str],
    rows: Sequence[Sequence[Any]],
    *,
    text: int = 1,
    total: Sequence[str] = (),
) -> Row:
    """A table: headings, rows of cells, the number of leading text columns, the row of sums.

    A cell is a string, or `two_lines`.
    """
    return {
        "heads": list(heads),
        "rows": [list(row) for row in rows],
        "text": text,
        "sum": list(total),
    }


def two_lines(text: str, small: str) -> Row:
    """A cell with small print under its text."""
    return {"text": text, "small": small}
