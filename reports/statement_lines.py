"""The lines behind a statement: every delivery and every payment, as printed strings."""

from __future__ import annotations

from reports.facts import Row
from reports.labels import METHODS, coffee_name, word
from reports.statement_parts import Voice, receipt

# A page of more would weigh more than a small telephone's network bears (30 kB).
MOST_ON_PAGE = 60


def lines(v: Voice, rows: list[Row]) -> list[Row]:
    """Every counted delivery, in order of day and receipt; `at`: number of its sheet and row."""
    f = v.figures
    numbers = _numbers(rows)
    return [
        {
            "day": f.day(row["day"]),
            "receipt": receipt(row),
            "kind": coffee_name(v.say, row["species"], row["form"]),
            "grade": row["grade"] or "",
            "kg": f.kg(row["net_kg"]),
            "moisture": "" if row["moisture_pct"] is None else f.percent(row["moisture_pct"]),
            "price": "–" if row["price_per_kg"] is None else f.price(row["price_per_kg"]),
            "value": "–" if row["value_minor"] is None else f.money(row["value_minor"]),
            "deducted": f.money(row["deducted_minor"]),
            "at": f"{numbers[row['sheet']]}:{row['row_no']}",
        }
        for row in rows
    ]


def _numbers(rows: list[Row]) -> dict[str, int]:
    return {name: n for n, name in enumerate(dict.fromkeys(row["sheet"] for row in rows), 1)}


def sheets(v: Voice, rows: list[Row]) -> str:
    """The sheets that the deliveries stand on, by the number their lines bear."""
    named = "; ".join(f"{n} {name}" for name, n in _numbers(rows).items())
    return v.say("Stands on, sheet and row: {sheets}.").format(sheets=named) if named else ""


def wrote(v: Voice, rows: list[Row]) -> str:
    """The receipts of which the member's own record says another weight, in one sentence."""
    other = "; ".join(
        f"{receipt(row)} {v.figures.kg(row['record_kg'])}\u00a0kg"
        for row in rows
        if row["record_kg"] is not None
    )
    say = v.say("Your own record says another weight, by receipt: {weights}.")
    return say.format(weights=other) if other else ""


def earlier(v: Voice, rows: list[Row]) -> str:
    """What a telephone leaves out where deliveries are many: how many come before, their sum."""
    before = rows[:-MOST_ON_PAGE]
    if not before:
        return ""
    say = v.say(
        "{n} earlier deliveries, {value} together, stand in the printed statement; the latest "
        "{shown} follow."
    )
    value = v.figures.cash(sum(row["value_minor"] or 0 for row in before))
    shown = v.figures.count(MOST_ON_PAGE)
    return say.format(n=v.figures.count(len(before)), value=value, shown=shown)


def payments(v: Voice, rows: list[Row]) -> list[Row]:
    """Every payment, in order of day."""
    return [
        {
            "day": v.figures.day(row["day"]),
            "number": row["payment_no"] or "–",
            "method": v.say(word(METHODS, row["method"] or "–")),
            "amount": v.figures.money(row["amount_minor"]),
        }
        for row in rows
    ]
