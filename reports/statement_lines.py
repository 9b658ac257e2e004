"""The lines behind a statement: every delivery and every payment, as printed strings."""

from __future__ import annotations

from reports.facts import Row
from reports.labels import METHODS, coffee_name, word
from reports.statement_parts import Voice, receipt


def lines(v: Voice, rows: list[Row]) -> list[Row]:
    """Every counted delivery, in order of day and receipt."""
    f = v.figures
    return [
        {
            "day": f.day(row["day"]),
            "receipt": receipt(row),
            "coffee": coffee_name(v.say, row["species"], row["form"]),
            "grade": row["grade"],
            "kg": f.kg(row["net_kg"]),
            "moisture": "" if row["moisture_pct"] is None else f.percent(row["moisture_pct"]),
            "price": "–" if row["price_per_kg"] is None else f.price(row["price_per_kg"]),
            "value": "–" if row["value_minor"] is None else f.money(row["value_minor"]),
            "deducted": f.money(row["deducted_minor"]),
            "sheet": row["sheet"],
            "row": str(row["row_no"]),
            "wrote": ""
            if row["record_kg"] is None
            else v.say("your record says {kg} kg for this receipt").format(
                kg=f.kg(row["record_kg"])
            ),
        }
        for row in rows
    ]


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
