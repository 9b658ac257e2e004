"""The parts of a member's statement: rows of one member in, printed strings out."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from reports.advice import fitting
from reports.facts import CoopFacts, Explain, Row
from reports.figures import Figures
from reports.labels import ACTIONS, COFFEE, coffee_name, column_title, word


@dataclass(frozen=True, slots=True, kw_only=True)
class Voice:
    """How one language says things: its catalogue and its figures."""

    language: str
    say: Callable[[str], str]
    figures: Figures
    facts: CoopFacts

    def code(self, member_no: str, *parts: str) -> str:
        """A figure's code: 2026/10427/balance."""
        return "/".join((self.facts.season, member_no, *parts))

    def station(self, code: str | None) -> str:
        """A station's name; a code that the book does not declare stands for itself."""
        return self.facts.stations.get(code, code) if code else ""

    def sheet_row(self, sheet: str, row_no: int) -> str:
        """Where a figure stands: weighings.csv, row 17."""
        return self.say("{sheet}, row {n}").format(sheet=sheet, n=row_no)

    def column(self, kind: str, column: str) -> str:
        """A column's heading in this language."""
        return column_title(kind, column, self.language)


def green_factor(v: Voice, row: Row) -> str:
    """By how many kilograms a coffee is brought to green, and what that rests on."""
    return v.say("{coffee}: {kg} kg for one of green coffee ({basis}).").format(
        coffee=coffee_name(v.say, row["species"], row["form"]),
        kg=v.figures.factor(row["per_green"]),
        basis=row["basis"],
    )


def headline(v: Voice, member_no: str, season: Row) -> list[Row]:
    """The three figures that matter."""
    owed = season["balance_minor"]
    return [
        {
            "label": v.say("Coffee delivered"),
            "value": v.figures.gbe(season["gbe_kg"]) + "\u00a0kg",
            "note": v.say("as green bean equivalent"),
            "code": v.code(member_no, "gbe"),
        },
        {
            "label": v.say("Its value"),
            "value": v.figures.cash(season["value_minor"]),
            "note": v.say("at the prices of the day"),
            "code": v.code(member_no, "value"),
        },
        {
            "label": v.say("Owed to you") if owed >= 0 else v.say("You have been overpaid"),
            "value": v.figures.cash(abs(owed)),
            "note": v.say("after deductions and payments"),
            "code": v.code(member_no, "balance"),
        },
    ]


def coffee(v: Voice, member_no: str, season: Row, rows: list[Row]) -> Row:
    """Deliveries by species and form, with what each comes to as green coffee."""
    f = v.figures
    return {
        "rows": [
            {
                "label": coffee_name(v.say, row["species"], row["form"]),
                "code": v.code(member_no, "delivered", row["species"], row["form"]),
                "deliveries": f.count(row["deliveries"]),
                "kg": f.kg(row["net_kg"]),
                "gbe": f.gbe(row["gbe_kg"]),
                "value": f.money(row["value_minor"]),
            }
            for row in rows
        ],
        "total": {
            "label": v.say("Together"),
            "deliveries": f.count(sum(row["deliveries"] for row in rows)),
            "gbe": f.gbe(season["gbe_kg"]),
            "value": f.money(season["value_minor"]),
        },
        "basis": v.say(
            "Green bean equivalent is the green coffee that each delivery comes to, so that "
            "cherry and parchment can be added together. Payment is by the net kilograms."
        )
        + "".join(f" {green_factor(v, row)}" for row in rows if row["per_green"]),
        "none": v.say("No coffee is counted for you this season."),
    }


def line(label: str, note: str, amount: str, v: Voice, member_no: str, *code: str) -> Row:
    """One line of money with the code of its figure."""
    return {"label": label, "note": note, "amount": amount, "code": v.code(member_no, *code)}


def yields(v: Voice, member_no: str, rows: list[Row], middle: dict[str, Row]) -> list[Row]:
    """Yield a bearing tree, beside the middle half of the village where it may be shown."""
    shown: list[Row] = []
    for row in rows:
        if not row["gbe_per_tree_kg"]:
            # No coffee counted says nothing about the trees.
            continue
        species, mine = row["species"], row["gbe_per_tree_kg"]
        half = middle.get(species)
        shown.append(
            {
                "label": v.say(word(COFFEE, species)),
                "code": v.code(member_no, "yield", species),
                "value": v.figures.gbe(mine) + "\u00a0kg",
                "note": v.say("green bean equivalent a bearing tree, {trees} trees").format(
                    trees=v.figures.count(row["trees_bearing"])
                ),
                "say": _half_sentence(v, half),
                "strip": _strip(mine, half) if half else None,
            }
        )
    return shown


def _half_sentence(v: Voice, half: Row | None) -> str:
    if half is None:
        return v.say("Fewer than five members of your village can be compared.")
    return v.say("Middle half of your village: {low} to {high} kg.").format(
        low=v.figures.gbe(half["lower_kg"]), high=v.figures.gbe(half["upper_kg"])
    )


def _strip(mine: Decimal, half: Row) -> Row:
    """Where the mark and the band stand on a strip of length 100; positions, not figures."""
    most = max(mine, half["upper_kg"]) * Decimal("1.2") or Decimal(1)

    def at(value: Decimal) -> float:
        return float(round(value / most * 100, 1))

    return {"low": at(half["lower_kg"]), "high": at(half["upper_kg"]), "mine": at(mine)}


def advice(v: Voice, facts: Row) -> list[str]:
    """Two or three sentences that follow from the member's own figures."""
    count = v.figures.count
    filled = {
        "wet": count(facts["wet_readings"]),
        "readings": count(facts["readings"]),
        "most": v.figures.percent(v.facts.moisture_band[1]),
        "record_weeks": count(facts["record_weeks"]),
        "weeks": count(facts["weeks"]),
    }
    return [v.say(rule.say).format(**filled) for rule in fitting(facts)]


def receipt(row: Row) -> str:
    """A receipt line as a member finds it: book and number, and its line after the first."""
    book, number, line = row["receipt_book"], row["receipt_no"], row.get("line")
    written = f"{book or '?'}/{'?' if number is None else number}"
    return f"{written}/{line}" if line is not None and line > 1 else written


def waiting(v: Voice, rows: list[Row], flags: list[Row], explain: Explain) -> Row:
    """What is held or sent back, and why, in plain words."""
    reasons: dict[tuple[int, int], list[str]] = {}
    for flag in flags:
        reasons.setdefault((flag["sheet_no"], flag["row_no"]), []).append(explain(flag, v.language))
    unsaid = {
        "held": v.say("It waits for a decision."),
        "sent_back": v.say("It was sent back to the clerk to be put right."),
    }
    shown = [
        {
            "receipt": receipt(row),
            "day": v.figures.day(row["day"]) if row["day"] else "–",
            "kg": v.figures.kg(row["net_kg"]) if row["net_kg"] is not None else "–",
            "why": " ".join(
                reasons.get((row["sheet_no"], row["row_no"])) or [unsaid[row["state"]]]
            ),
            "source": v.sheet_row(row["sheet"], row["row_no"]),
        }
        for row in rows
    ]
    return {
        "rows": shown,
        "say": v.say("These deliveries are not lost and not yet counted above."),
    }


def decisions(v: Voice, rows: list[Row]) -> list[Row]:
    """Each decision taken on a row of this member: what, by whom, because of what."""
    shown: list[Row] = []
    for row in rows:
        where = v.sheet_row(row["sheet"], row["row_no"])
        if row["receipt_no"] is not None:
            where = v.say("Receipt") + f" {receipt(row)}"
        did = v.say(word(ACTIONS, row["action"]))
        if row["new_value"] is not None:
            text = v.say("{col} corrected from {old} to {new}")
            did = text.format(
                col=v.column(row["kind"], row["col"]),
                old=row["old_value"] or "–",
                new=row["new_value"],
            )
        by = v.say("Decided by {who}: {because}").format(
            who=row["decided_by"], because=row["because"]
        )
        shown.append({"day": _decided(v, row["decided_at"]), "say": f"{where}: {did}. {by}"})
    return shown


def _decided(v: Voice, instant: str) -> str:
    try:
        return v.figures.day(dt.date.fromisoformat(instant[:10]))
    except ValueError:
        return instant
