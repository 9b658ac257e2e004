"""How large the first page of a statement may be printed so that all of it fits.

The height is reckoned from the words, since measuring in the layout would draw each page twice.
A reckoning that is off costs a smaller letter or a second page, never a word.
"""

from __future__ import annotations

from math import ceil

from reports.facts import Row

SIZES = (13.0, 12.5, 12.0, 11.5, 11.0, 10.5, 10.0, 9.5, 9.0)
# Points: an A4 page less its margins, and a column of half of it.
_HEIGHT, _WIDTH, _HALF, _THIRD = 754.0, 493.0, 235.0, 157.0
# Of the letter's size: a line with its lead, the mean width of a letter, and parts of the page.
_LINE, _LETTER = 1.0, 0.5
_TITLE, _ROW, _HEADER, _GAP = 2.0, 1.2, 1.25, 0.4
_FINE, _CODE = 0.72, 0.56
# The figures of a table's columns, so many letters.
_NUMBERS, _AMOUNT = 34, 9
_QR_PT = 113.0


def front_size(model: Row) -> float:
    """The largest size in points at which the first page of a dated model should fit."""
    for size in SIZES:
        if _height(model, size) <= _HEIGHT:
            return size
    # Too much for one page however small: it runs on to the next, at a size that reads well.
    return 10.0


def _height(model: Row, size: float) -> float:
    heads = _head(model, size) + _figures(model, size)
    tables = _coffee(model, size) + _money(model, size) + _apart(model, size)
    words = _waiting(model, size) + _beside(model, size) + _advice(model, size)
    ask = _TITLE * size + _text(model["issue"]["questions"], _WIDTH, size) + _LINE * size
    return heads + tables + words + ask


def _lines(letters: float, width: float, size: float) -> int:
    return max(1, ceil(letters * size * _LETTER / width))


def _text(words: str, width: float, size: float) -> float:
    return _lines(len(words), width, size) * _LINE * size


def _row(label: str, note: str, code: str, width: float, size: float) -> float:
    """A row of a table: label, small note in brackets, and the code in the smallest print."""
    letters = len(label) + _FINE * (len(note) + 3) + _CODE * (len(code) + 1)
    return (_ROW + (_lines(letters, width, size) - 1) * _LINE) * size


def _head(model: Row, size: float) -> float:
    width = _WIDTH - 117
    who = model["member"]
    name = _text(who["name"], width, size * 1.6)
    place = f"{who['no']}{who['village']}{who['station']}" + " " * 24
    text = _text(model["coop"], width, size) + 2 * _LINE * size + _text(place, width, size)
    return max(text + name + 1.2 * size, _QR_PT)


def _figures(model: Row, size: float) -> float:
    labels = max(_lines(len(f["label"]), _THIRD, size) for f in model["figures"])
    values = max(_lines(len(f["value"]), _THIRD, size * 1.65) for f in model["figures"])
    notes = max(_lines(len(f["note"]), _THIRD, size * _FINE) for f in model["figures"])
    return (1.3 + _LINE * (labels + values * 1.65 + notes * _FINE + _CODE)) * size


def _coffee(model: Row, size: float) -> float:
    rows = model["coffee"]["rows"]
    if not rows:
        return (_TITLE + _LINE) * size
    width = _WIDTH - _NUMBERS * _LETTER * size - 48
    found = sum(_row(row["label"], "", row["code"], width, size) for row in rows)
    return (_TITLE + _HEADER + _ROW + _GAP) * size + found


def _money(model: Row, size: float) -> float:
    width = _WIDTH - _AMOUNT * _LETTER * size - 10
    found = sum(_row(m["label"], m["note"], m["code"], width, size) for m in model["money"])
    return (_TITLE + _HEADER + _GAP) * size + found


def _apart(model: Row, size: float) -> float:
    rows = model["apart"]["rows"]
    if not rows:
        return 0
    width = _WIDTH - _NUMBERS * _LETTER * size - 48
    found = sum(_row(m["label"], m["note"], m["code"], width, size) for m in rows)
    said = _text(model["apart"]["say"], _WIDTH, size * _FINE)
    return (_TITLE + _HEADER + _GAP) * size + found + said


def _waiting(model: Row, size: float) -> float:
    rows = model["waiting"]["rows"]
    if not rows:
        return 0
    said = [f"{w['receipt']}{w['day']}{w['kg']}{w['why']}{w['source']}" for w in rows[:2]]
    found = sum(_text(words + " " * 16, _WIDTH - 12, size) + 0.5 * size for words in said)
    return (_TITLE + 2 * _LINE) * size + found


def _beside(model: Row, size: float) -> float:
    """Yield and farm record stand side by side."""
    left = sum(
        _text(f"{y['label']}{y['value']}{y['note']}{y['say']}" + " " * 16, _HALF, size)
        + (28 if y["strip"] else 0)
        + _GAP * size
        for y in model["yields"]
    ) or _text(model["no_yield"], _HALF, size)
    right = _text(model["record"]["say"], _HALF, size) + sum(
        _row(row["label"], "", row["code"], _HALF - 12 * _LETTER * size, size)
        for row in model["record"]["rows"]
    )
    return (_TITLE + _GAP) * size + max(left, right)


def _advice(model: Row, size: float) -> float:
    if not model["advice"]:
        return 0
    found = sum(_text(words, _WIDTH - 12, size) + 0.5 * size for words in model["advice"])
    return _TITLE * size + found
