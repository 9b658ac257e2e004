"""The page behind a statement: each figure on trees and costs with its code, and cash by month."""

from __future__ import annotations

from reports.facts import Row
from reports.labels import COFFEE, word
from reports.statement_parts import Voice, line
from reports.yield_figures import number


def in_detail(v: Voice, no: str, margin: Row, blocks: list[Row], past: list[Row]) -> list[Row]:
    """Every figure that the first page names in a sentence, with the code that explains it."""
    f = v.figures
    shown: list[Row] = []
    for block in blocks:
        if block["low_kg"] is not None:
            label = v.say("Expected of such blocks, kg a tree")
            band = f"{f.gbe(block['low_kg'])}–{f.gbe(block['high_kg'])}"
            shown.append(_of(v, no, label, band, "expected", block["species"]))
    for one in past:
        label = v.say("Average of earlier seasons, kg a tree")
        shown.append(_of(v, no, label, f.gbe(one["usual_kg"]), "before", one["species"]))
    if margin.get("margin_minor") is None:
        return shown
    for code, label, minor in (
        ("earned", v.say("Value with premiums and second payment"), margin["value_minor"]),
        ("cost", v.say("Recorded costs"), margin["variable_minor"]),
        ("margin", v.say("Value less recorded costs"), margin["margin_minor"]),
        ("tools", v.say("A year's part of the tools"), margin["fixed_minor"]),
        ("left", v.say("Left after the tools"), margin["after_fixed_minor"]),
        ("family_day", v.say("Earned by a day of family work"), margin["per_family_day_minor"]),
    ):
        # Without tools both would say again what stands above them.
        if minor is not None and (margin["fixed_minor"] or code not in ("tools", "left")):
            shown.append(line(label, "", f.money(minor), v, no, code))
    for code, label, places in (
        ("cost_per_kg", v.say("Cost of a kilogram of green coffee"), 2),
        ("price_per_kg", v.say("Fetched by a kilogram of green coffee"), 2),
        ("break_even_price", v.say("Price a kg that just meets the costs, without tools"), 2),
        ("break_even_kg", v.say("Kilograms that just meet the costs, without tools"), 0),
    ):
        if margin[code] is not None:
            shown.append(line(label, "", number(v, margin[code], places), v, no, code))
    return shown


def _of(v: Voice, no: str, label: str, amount: str, code: str, species: str) -> Row:
    return line(label, v.say(word(COFFEE, species)), amount, v, no, code, species)


def cash(v: Voice, no: str, months: list[Row]) -> list[Row]:
    """What was paid and what was spent in each month; nothing recorded is said, never nought."""
    f = v.figures
    return [
        {
            "month": f.month(row["month"]),
            "paid": f.money(row["paid_minor"]),
            "spent": v.say("not recorded")
            if row["spent_minor"] is None
            else f.money(row["spent_minor"]),
            "left": "–" if row["spent_minor"] is None else f.money(row["left_minor"]),
            "code": v.code(no, "cash", f"{row['month']:%Y-%m}"),
        }
        for row in months
    ]
