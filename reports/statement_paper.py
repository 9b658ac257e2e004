"""A statement on paper: what Typst is told beforehand, so that it lays each thing out once."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

from reports import render
from reports.facts import Row
from reports.front_size import front_size
from reports.genuine import modules
from reports.letters import width
from reports.line_layout import deliveries, payments
from reports.table_layout import TAIL, Column, Look, filled, heights, rounded, texts

# The print of notes, of the letters around them; the space above and below a cell of
# the first page, of its letters.
_FINE, _INSET, _BLANK = 0.72, 0.34, 0.26
_IN_TABLES = ("lines_before", "lines", "payments")
_BEHIND = Look(width=235.2, size=9, head=8, gap=8, inset=2.6)


def statement_pdf(model: Row, *, day: dt.date, subject: str) -> bytes:
    """The statement of a dated model as PDF; errors as those of `render.pdf`."""
    # The lines stand in the tables' cells.
    told = {key: value for key, value in model.items() if key not in _IN_TABLES}
    return render.pdf("statement", told | {"paper": _paper(model)}, day=day, subject=subject)


def _paper(model: Row) -> Row:
    size = front_size(model)
    words, total = model["labels"], model["coffee"]["total"]
    front = Look(width=493.2, size=size, head=_FINE * size, gap=12, inset=_INSET * size,
                 lead=0.45)  # fmt: skip
    coffee = [
        texts(head, [*(row[key] for row in model["coffee"]["rows"]), total.get(key, "")], bold=True)
        for key, head in (
            ("deliveries", words["deliveries"]), ("kg", words["kg"]), ("gbe", words["gbe_short"]),
            ("value", words["currency"]),
        )
    ]  # fmt: skip
    apart = [
        texts(words[head], [row[key] for row in model["apart"]["rows"]], bold=True)
        for key, head in (("start", "at_start"), ("more", "more"), ("less", "less"), ("now", "now"))
    ]
    record = [
        _named("", model["record"]["rows"]),
        texts("", [f"{words['currency']} {row['amount']}" for row in model["record"]["rows"]]),
    ]
    cash = [
        texts(words[head], [row[key] for row in model["cash"]])
        for key, head in (("paid", "cash_paid"), ("spent", "cash_spent"), ("left", "cash_left"))
    ]
    sums = [*model["coffee"]["rows"], total]
    return {
        "size": size,
        "qr": modules(model["issue"]["signature"]) if model["issue"]["signature"] else {},
        "coffee": _sized(front, [_named(words["kind"], sums), *coffee]),
        "money": _amounts(front, words, model["money"], bold=True),
        "apart": _sized(front, [_named(words["what"], model["apart"]["rows"]), *apart]),
        "record": _sized(replace(front, width=235.2, gap=6), record),
        "detail": _amounts(_BEHIND, words, model["detail"]),
        "cash": _sized(_BEHIND, [_named(words["month"], model["cash"], "month"), *cash]),
        "payments": payments(model),
        "deliveries": deliveries(model),
    }


def _amounts(look: Look, words: Row, rows: list[Row], *, bold: bool = False) -> Row:
    amounts = texts(words["currency"], [row["amount"] for row in rows], bold=bold)
    return _sized(look, [_named(words["what"], rows), amounts])


def _named(head: str, rows: list[Row], key: str = "label") -> Column:
    """The first column: a label, in bold where it is the last, its note and its code."""
    cells: list[float] = []
    words: list[float] = []
    tails: list[float] = []
    for n, row in enumerate(rows, 1):
        note, code = row.get("note", ""), row.get("code", "")
        said = [(row[key], 1.0)] + ([(f"({note})", _FINE)] if note else [])
        tails.append(TAIL * width(code) if code else 0)
        bold = n == len(rows)
        whole = sum(size * (width(text, bold=bold) + _BLANK) for text, size in said)
        cells.append(whole + tails[-1])
        each = (size * width(word, bold=bold) for text, size in said for word in text.split())
        words.append(max([*each, tails[-1]]))
    return Column(head=head, cells=cells, words=words, tails=tails)


def _sized(look: Look, columns: list[Column]) -> Row:
    points = filled(look, columns)
    return {"columns": rounded(points), "rows": heights(look, columns, points)}
