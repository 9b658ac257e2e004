"""The money of a member's statement: what is owed for coffee, and what stands apart."""

from __future__ import annotations

from dataclasses import dataclass

from reports.facts import Row
from reports.labels import ENTRIES, word
from reports.statement_parts import Voice, line


@dataclass(frozen=True, slots=True, kw_only=True)
class MemberMoney:
    """The rows behind one member's money: totals, deductions, what is added, loan and shares."""

    season: Row
    deducted: list[Row]
    added: list[Row]
    payments: list[Row]
    apart: Row | None = None


NOTHING_APART: Row = {
    f"{name}_{key}": 0 for name in ("loan", "shares") for key in ("start", "more", "less")
}


def money(v: Voice, member_no: str, got: MemberMoney) -> list[Row]:
    """Value, what was added, each deduction with its authority, payments, balance: they add up."""
    f, season = v.figures, got.season
    lines: list[Row] = []
    if season["opening_minor"]:
        before = (
            v.say("Owed to you from before")
            if season["opening_minor"] > 0
            else v.say("Overpaid before")
        )
        lines.append(line(before, "", f.money(season["opening_minor"]), v, member_no, "opening"))
    value = f.money(season["value_minor"])
    lines.append(line(v.say("Value of coffee"), "", value, v, member_no, "value"))
    lines += [_added(v, member_no, row) for row in got.added if row["what"] == "premium"]
    taken = {row["deduction"]: row["amount_minor"] for row in got.deducted}
    for deduction in v.facts.deductions:
        amount = taken.pop(deduction.code, 0)
        what = (deduction.named(v.language), deduction.authority, f.money(-amount))
        lines.append(line(*what, v, member_no, "deducted", deduction.code))
    for code, amount in sorted(taken.items()):
        label = v.say("Held back before this book began") if code == "before" else code
        named = v.facts.undeclared.get(code)
        what = (v.say(named.name), v.say(named.authority)) if named else (label, "")
        lines.append(line(*what, f.money(-amount), v, member_no, "deducted", code))
    lines += [_added(v, member_no, row) for row in got.added if row["what"] != "premium"]
    already = f.money(-season["paid_minor"])
    said = _payments(v, len(got.payments))
    lines.append(line(v.say("Already paid to you"), said, already, v, member_no, "paid"))
    owed = season["balance_minor"]
    last = v.say("Balance owed to you") if owed >= 0 else v.say("Overpaid, to be settled")
    lines.append(line(last, "", f.money(owed), v, member_no, "balance"))
    return lines


def _payments(v: Voice, paid: int) -> str:
    if paid == 0:
        return v.say("no payment yet")
    if paid == 1:
        return v.say("one payment")
    return v.say("{n} payments").format(n=v.figures.count(paid))


def _added(v: Voice, member_no: str, row: Row) -> Row:
    """A premium, a second payment or an entry of the office, with what allows it or why."""
    f = v.figures
    amount = f.money(row["amount_minor"])
    if row["what"] == "premium":
        note = row["authority"] or ""
        return line(row["name"], note, amount, v, member_no, "premium", row["code"])
    if row["what"] == "second":
        by = v.say("{kg} kg at {rate}").format(
            kg=f.kg(row["kg"]), rate=f.price(row["rate_per_kg"])
        ) if row["rate_per_kg"] is not None else v.say("share of a fixed sum by {kg} kg").format(
            kg=f.kg(row["kg"])
        )  # fmt: skip
        resolved = v.say("resolution {no} of {day}").format(
            no=row["authority"], day=f.day(row["resolution_on"])
        )
        label = v.say("Second payment, {pool}").format(pool=row["code"])
        return line(label, f"{by}; {resolved}", amount, v, member_no, "second", row["code"])
    label = v.say(word(ENTRIES, row["entry"]))
    notes = [v.say("entry {no}").format(no=row["code"]), row["reason"]]
    if row["corrects"]:
        notes.insert(1, v.say("corrects {what}").format(what=row["corrects"]))
    if row["other_member"]:
        notes.insert(1, v.say("member {no}").format(no=row["other_member"]))
    return line(label, ", ".join(notes), amount, v, member_no, "entry", row["code"])


def apart(v: Voice, member_no: str, got: MemberMoney) -> Row:
    """Loan and shares from start to now, and what could not be taken: apart from coffee money."""
    f, season, moved = v.figures, got.season, got.apart or NOTHING_APART
    rows: list[Row] = []

    def row(name: str, label: str, note: str = "") -> None:
        sums = {key: f.money(moved[f"{name}_{key}"]) for key in ("start", "more", "less")}
        now = f.money(season[f"{name}_minor"])
        rows.append(
            {"label": label, "note": note, **sums, "now": now, "code": v.code(member_no, name)}
        )

    if season["loan_minor"] or any(moved[f"loan_{key}"] for key in ("start", "more", "less")):
        row("loan", v.say("Loan that you owe"))
    if season["shares_minor"] or any(moved[f"shares_{key}"] for key in ("start", "more", "less")):
        row("shares", v.say("Your paid-up shares"))
    if season["untaken_minor"]:
        later = v.say("there was not enough to take it from; it is taken from later coffee")
        due = f.money(season["untaken_minor"])
        rows.append(
            {"label": v.say("Deductions still due"), "note": later, "start": "", "more": "",
             "less": "", "now": due, "code": v.code(member_no, "untaken")}
        )  # fmt: skip
    if not rows:
        return {"rows": [], "say": ""}
    say = v.say("These are no part of the balance above.")
    if season["loan_minor"] > 0:
        say += " " + v.say(
            "You owe only what you signed for: ask to see the issue note. If repaying would leave "
            "you short, speak with the office or somebody you trust before you borrow more."
        )
    return {"rows": rows, "say": say}


def loan_notes(v: Voice, rows: list[Row]) -> list[str]:
    """Each issue note and loan from before, as one line: day, number, what for, how much, until."""
    f = v.figures
    return [
        ", ".join(filter(None, (f.day(n["day"]), n["note"], n["item"], f.money(n["amount_minor"]))))
        + (v.say(", due {day}").format(day=f.day(n["due_on"])) if n["due_on"] else "")
        for n in rows
    ]
