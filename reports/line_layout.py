"""The tables of deliveries and payments on paper: their cells in order, columns and rows.

Deliveries stand by kind of coffee, so that each table adds up to a line of the first page.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from math import ceil

from reports.facts import Row
from reports.letters import CAPITAL, width
from reports.table_layout import Column, Look, filled, heights, rounded, spread, texts

_LOOK = Look(width=493.2, size=8.5, head=7.5, gap=5, inset=2.6)
_PAYMENTS = Look(width=235.2, size=9, head=8, gap=6, inset=3)
_LEFT = ("day", "receipt")
# Texts that others wrote, in em: a longer one takes a second line, not the whole width.
_WRITTEN = {"receipt": 8.0, "grade": 5.0, "number": 8.0}
_AIR = 3.5
# The title of a table and the space under it, in points.
_TITLE, _UNDER = 10.5, 6
# So many lines stay together, at the top of a table with its headings and at its end with the sum;
# a table of up to twice as many is not parted.
_TOGETHER = 2
# No room is asked for beyond a fifth of a page.
_MOST_ROOM = 150.0
# Two columns for as many payments as stand on a page; more run on in one.
_TWO_COLUMNS = 60


def deliveries(model: Row) -> Row:
    """`size` of the letters and of the `head`, `gap`, and `tables`, a kind of coffee each, in line.

    Each has `title`, `code`, `heads` with `sides`, `columns` and `rows` in points, `cells`, and
    `sum` as words with how many columns they span; `keep`: how many of the last lines stay with
    it, `room`: the points that a page must have left for the table to begin there. What no line
    has, or what all have alike and the title says, takes no column.
    """
    lines: list[Row] = model["lines_before"] + model["lines"]
    if not lines:
        return {"tables": []}
    totals = {total["label"]: total for total in model["coffee"]["rows"]}
    heads = _heads(model["labels"])
    kinds = {
        kind: [line for line in lines if line["kind"] == kind]
        for kind in dict.fromkeys([*totals, *(line["kind"] for line in lines)])
    }
    gone = {kind: _told_in_title(some) for kind, some in kinds.items()}
    keys = [key for key in heads if not all(key in one for one in gone.values())]
    sums = {key: [total[key] for total in totals.values()] for key in ("kg", "value")}
    columns = [_column(key, heads[key], lines, sums.get(key, ())) for key in keys]
    look = _that_fits(columns)
    points, gap = spread(look, columns)
    tables: list[Row] = []
    for kind, some in kinds.items():
        shown = {key: heads[key] for key in keys if key not in gone[kind]}
        wide = _in_line(keys, shown, points, gap)
        same = [f"{heads[key]} {word}" for key, word in gone[kind].items() if word]
        made: Row = {"title": ", ".join([kind, *same]), "columns": rounded(wide)}
        together = _sum(shown, totals.get(kind), model["labels"]["together"])
        made |= together | _cells(look, shown, wide, some)
        tables.append(made | _kept(look, made, len(some)))
    size, head = rounded([look.size, look.head])
    return {"size": size, "head": head, "gap": round(gap, 2), "tables": tables}


def _cells(look: Look, shown: dict[str, str], wide: Sequence[float], some: list[Row]) -> Row:
    columns = [_column(key, head, some) for key, head in shown.items()]
    return {
        "heads": list(shown.values()),
        "sides": [key in _LEFT for key in shown],
        "rows": _in_threes(heights(look, columns, wide), len(some)),
        "cells": [line[key] for line in some for key in shown],
    }


def _kept(look: Look, made: Row, lines: int) -> Row:
    """How many of the last lines stay with the sum, and the room that the first ones need."""
    short = lines <= 2 * _TOGETHER
    line = CAPITAL * look.size + 2 * look.inset + _AIR
    head, *rows = made["rows"]
    rows = rows * lines if len(rows) == 1 else rows
    # A row that is measured takes two lines, mostly; the sum takes one.
    first = [row or line + look.size for row in rows[: lines if short else _TOGETHER]]
    title = _TITLE * ceil(width(made["title"], bold=True) * _TITLE / look.width) + _UNDER
    room = title + head + sum(first) + (line if short else 0)
    return {"keep": 0 if short else _TOGETHER, "room": round(min(room, _MOST_ROOM), 2)}


def _heads(words: Row) -> dict[str, str]:
    return {
        "day": words["paid_day"], "receipt": words["receipt"], "grade": words["grade"],
        "kg": words["kg"], "moisture": words["moisture"], "price": words["price"],
        "value": words["value"], "deducted": words["deducted"], "at": words["stands"],
    }  # fmt: skip


def _told_in_title(lines: list[Row]) -> dict[str, str]:
    """The columns that a table can do without, and what stands in its title instead."""
    found: dict[str, str] = {}
    grades = {line["grade"] for line in lines}
    if len(grades) == 1:
        found["grade"] = grades.pop()
    if not any(line["moisture"] for line in lines):
        found["moisture"] = ""
    return found


def _column(key: str, head: str, lines: list[Row], sums: Sequence[str] = ()) -> Column:
    cells = [width(line[key]) for line in lines] + [width(one, bold=True) for one in sums]
    return Column(head=head, cells=cells, most=_WRITTEN.get(key, 99))


def _that_fits(columns: Sequence[Column]) -> Look:
    """The look of the table, in smaller print where very long figures ask for it."""
    needed = sum(column.least(_LOOK) for column in columns)
    part = min(1, (_LOOK.width - _LOOK.gap * (len(columns) - 1)) / needed)
    return replace(_LOOK, size=_LOOK.size * part, head=_LOOK.head * part)


def _in_threes(high: list[float], lines: int) -> list[float]:
    """The rows with a little air under every third, which leads the eye without a rule."""
    head, *rows = high
    if len(rows) < lines:
        rows = rows * lines
    # A row that is measured has no height to add to.
    parted = [row + _AIR if row and n % 3 == 0 else row for n, row in enumerate(rows, 1)]
    return [head, *rounded(parted)]


def _in_line(
    keys: list[str], shown: Collection[str], points: Sequence[float], gap: float
) -> list[float]:
    """The widths of the columns shown: one before which others are left out takes their room."""
    made: list[float] = []
    room = 0.0
    for key, point in zip(keys, points, strict=True):
        room += point
        if key in shown:
            made.append(room)
            room = 0.0
        else:
            room += gap
    return made


def _sum(shown: Collection[str], total: Row | None, together: str) -> Row:
    """The code of a kind's sum, and its row: each cell with how many columns it spans."""
    if total is None:
        return {"code": "", "sum": []}
    made: list[tuple[str, int]] = []
    for key in shown:
        words = together if key == "day" else total[key] if key in ("kg", "value") else ""
        if words or made[-1][0] in (total["kg"], total["value"]):
            made.append((words, 1))
        else:
            made[-1] = (made[-1][0], made[-1][1] + 1)
    return {"code": total["code"], "sum": made}


def payments(model: Row) -> Row:
    """`same`: how all were paid, where that is one way; `tables` side by side, or one below."""
    all_paid: list[Row] = model["payments"]
    words = model["labels"]
    heads = {
        "day": words["paid_day"], "number": words["payment_no"], "method": words["method"],
        "amount": words["currency"],
    }  # fmt: skip
    ways = {paid["method"] for paid in all_paid}
    if len(ways) == 1:
        del heads["method"]
    beside = len(all_paid) <= _TWO_COLUMNS
    look = _PAYMENTS if beside else replace(_PAYMENTS, width=_LOOK.width)
    half = max(4, -(-len(all_paid) // 2)) if beside else len(all_paid)
    fluid = len(heads) - 2
    points = filled(look, _paid(heads, all_paid), fluid)
    return {
        "same": ways.pop() if len(ways) == 1 else "",
        "gap": look.gap,
        "heads": list(heads.values()),
        "columns": rounded(points),
        "tables": [
            {
                "rows": heights(look, _paid(heads, some), points),
                "cells": [paid[key] for paid in some for key in heads],
            }
            for some in (all_paid[:half], all_paid[half:])
            if some
        ],
    }


def _paid(heads: dict[str, str], some: list[Row]) -> list[Column]:
    return [
        texts(head, [paid[key] for paid in some], most=_WRITTEN.get(key, 99))
        for key, head in heads.items()
    ]
