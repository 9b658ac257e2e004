"""Which columns the table of deliveries has on paper, how wide, and which rows fit on one line.

Reckoned from the letters, as `front_size` does: a column whose width is set is laid out once, not
twice, and so is a row whose height is set. A row that might not fit is measured in the layout.
"""

from __future__ import annotations

from math import floor

from reports.facts import Row

# Of the letter's size: its mean width where a column holds more than figures, and in a heading.
_EM = {"day": 0.56, "receipt": 0.7, "grade": 0.8}
_FIGURE, _HEAD = 0.61, 0.55
# Texts that others wrote: a longer one takes a second line, not the whole width.
_WRITTEN = {"receipt": 12, "grade": 8}
_TEXT = ("day", "receipt", "kind")
# The width between the margins in letters of 8.5 points, and a gap between two columns.
_WIDTH, _GAP = 58.0, 0.75
_KIND = 0.58


def line_layout(model: Row) -> Row:
    """Keys, headings and widths (em; "" takes what is left) of the columns; `set`: rows that fit.

    What is the same in every line is said once (`kind`), and what no line has takes no column.
    """
    lines: list[Row] = model["lines_before"] + model["lines"]
    words = model["labels"]
    kinds = {line["kind"] for line in lines}
    heads = {
        "day": words["paid_day"], "receipt": words["receipt"], "kind": words["kind"],
        "grade": words["grade"], "kg": words["kg"], "moisture": words["moisture"],
        "price": words["price"], "value": words["value"], "deducted": words["deducted"],
        "at": words["stands"],
    }  # fmt: skip
    if len(kinds) == 1:
        del heads["kind"]
    for key in ("grade", "moisture"):
        if not any(line[key] for line in lines):
            del heads[key]
    widths = {key: _wide(key, head, lines) for key, head in heads.items() if key != "kind"}
    most = dict(_WRITTEN)
    if "kind" in heads:
        room = _WIDTH - sum(widths.values()) - _GAP * len(widths)
        most["kind"] = floor(room / _KIND)
    return {
        "kind": kinds.pop() if len(kinds) == 1 else "",
        "keys": list(heads),
        "heads": list(heads.values()),
        "widths": [f"{widths[key]:.2f}" if key in widths else "" for key in heads],
        "sides": ["left" if key in _TEXT else "right" for key in heads],
        "set": [
            "set" if all(len(line[key]) <= fit for key, fit in most.items()) else ""
            for line in lines
        ],
    }


def _wide(key: str, head: str, lines: list[Row]) -> float:
    """A column as wide as its longest figure and what stands above it, in two lines at most."""
    longest = max(len(word) for word in head.split())
    above = max(longest, len(head) / 2 + 1 if " " in head else 0) * _HEAD
    fit = _WRITTEN.get(key, 99)
    figures = max((len(line[key]) for line in lines if len(line[key]) <= fit), default=0)
    return max(above, figures * _EM.get(key, _FIGURE))
