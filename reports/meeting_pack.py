"""The pack for the members' assembly as a paper: the roll, money, what is proposed, the bank."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from reports.facts import CoopFacts, Row
from reports.labels import METHODS, word
from reports.papers import grid, paper, section
from reports.statement import voice
from reports.statement_parts import Voice
from reports.words import mark, spoken

LINES = {
    "sales": mark("Coffee sold, as invoiced"),
    "sales_not_paid_yet": mark("of it, buyers have not paid yet"),
    "coffee": mark("Coffee bought from members, first payment"),
    "premiums": mark("Premiums less discounts"),
    "second_payment": mark("Second payments posted"),
    "deductions": mark("Levies and charges held back"),
    "paid_to_members": mark("Paid out to members"),
    "owed_to_members": mark("Still owed to members"),
    "overpaid_to_members": mark("Overpaid, to be settled by members"),
    "loans_owed": mark("Loans and inputs that members owe"),
    "shares_paid_up": mark("Shares paid up, kept apart"),
    "unclaimed": mark("Unclaimed money, kept apart"),
    "bank_in": mark("Money in, by bank, mobile-money and cash-book lines"),
    "bank_out": mark("Money out, by the same lines"),
}
MAY_NOT = {
    "left": mark("left on {value}"),
    "joined": mark("joined on {value}"),
    "shares": mark("{value} shares"),
    "kg": mark("{value} kg delivered"),
}
AGREE = {
    "named": mark("the line names the payment"),
    "named, sums differ": mark("the line names the payment, and the sums differ"),
    "member, sum and days": mark("same member, sum and days"),
    "sum and days": mark("same sum and days"),
    "no payment": mark("a line without a payment"),
    "no line": mark("a payment without a line"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Gathered:
    """What the pack shows, in plain rows; money in minor units.

    `rule`: least_shares, least_kg, days, authority. `roll`: member_no, name, village, reason and
    reason_value of who may not vote. `second`: resolution_no, posted, and pools with the fields of
    `pipeline.second.PoolPreview`. `bank`: method, why, count, paid_minor, line_minor.
    """

    rule: Row
    roll: Sequence[Row]
    money: Mapping[str, int]
    second: Row | None
    bank: Sequence[Row]
    bank_open: int


def meeting_paper(facts: CoopFacts, day: dt.date, shown: Gathered) -> bytes:
    """Draw the pack in the book's first language; ReportError where a letter cannot be shown."""
    v = voice(spoken(None, facts.languages), facts)
    return paper(facts, v.say("Pack for the assembly"), day, meeting_sections(v, shown))


def meeting_sections(v: Voice, shown: Gathered) -> list[Row]:
    """The parts of the pack in their order, every figure printed."""
    parts: list[Row | None] = [_roll(v, shown.rule, shown.roll), _money(v, shown.money)]
    if shown.second is not None:
        pools = shown.second["pools"]
        parts += [_pool(v, shown.second, pool) for pool in pools]
        parts += [_reserve(v, pools), _unsold(v, pools)]
    parts.append(_bank(v, shown.bank, shown.bank_open))
    return [one for one in parts if one is not None]


def _roll(v: Voice, rule: Row, roll: Sequence[Row]) -> Row:
    f = v.figures
    text = v.say(
        "{n} of {all} members may vote: at least {shares} shares paid up, {kg} kg green bean "
        "equivalent delivered, a member for {days} days. {authority}"
    )
    says = text.format(
        n=f.count(sum(not row["reason"] for row in roll)),
        all=f.count(len(roll)),
        shares=f.count(rule["least_shares"]),
        kg=f.kg(rule["least_kg"]),
        days=f.count(rule["days"]),
        authority=rule["authority"],
    )
    lines = [[row["member_no"], row["name"], row["village"], _may_not(v, row), ""] for row in roll]
    heads = [v.say("Member"), v.say("Name"), v.say("Village"), v.say("May not vote, since"),
             v.say("Signature")]  # fmt: skip
    return section(v.say("Who may vote"), [says.strip()], grid(heads, lines, text=4))


def _may_not(v: Voice, row: Row) -> str:
    reason, value = row["reason"], row["reason_value"]
    if reason is None:
        return ""
    shown = {
        "left": lambda: v.figures.day(dt.date.fromisoformat(value)),
        "joined": lambda: v.figures.day(dt.date.fromisoformat(value)),
    }.get(reason, lambda: value)()
    return v.say(MAY_NOT[reason]).format(value=shown)


def _money(v: Voice, money: Mapping[str, int]) -> Row:
    lines = [[v.say(LINES[line]), v.figures.money(amount)] for line, amount in money.items()]
    return section(v.say("Money in and out"), (), grid(["", v.facts.currency], lines, text=1))


def _pool(v: Voice, second: Row, pool: Row) -> Row:
    f = v.figures
    how = (
        v.say("Second payment, {rate} a kg").format(rate=f.price(pool["rate_per_kg"]))
        if pool["rate_per_kg"] is not None
        else v.say("Second payment, a fixed sum shared by kilograms")
    )
    lines: list[tuple[str, int]] = [
        (v.say("Proceeds of the coffee sold"), pool["proceeds_minor"]),
        (v.say("Last season's stock sold now"), pool["last_stock_minor"]),
        *[(v.say("Cost: {name}").format(name=name), -cost) for name, cost in pool["costs"]],
        (v.say("Finance interest"), -pool["interest_minor"]),
        (v.say("Premiums voted apart"), -pool["apart_minor"]),
        (v.say("First payment for this coffee"), -pool["first_payment_minor"]),
        (v.say("Left to share"), pool["available_minor"]),
        (how, -pool["shared_minor"]),
    ]
    text = v.say(
        "Shared by {kg} kg of eligible members; {excluded} kg of others have no share."
    ).format(kg=f.kg(pool["kg"]), excluded=f.kg(pool["excluded_kg"]))
    title = (
        v.say("Second payment posted, pool {pool}, resolution {no}")
        if second["posted"]
        else v.say("Second payment proposed, pool {pool}, resolution {no}")
    ).format(pool=pool["code"], no=second["resolution_no"])
    table = grid(
        ["", v.facts.currency],
        [[label, f.money(minor)] for label, minor in lines],
        total=[v.say("To reserve"), f.money(pool["reserve_minor"])],
    )
    return section(title, [text], table)


def _reserve(v: Voice, pools: Sequence[Row]) -> Row:
    f, names = v.figures, ("available_minor", "shared_minor", "reserve_minor")
    heads = [v.say("Pool"), v.say("Left to share"), v.say("Second payment"), v.say("To reserve")]
    lines = [[pool["code"], *(f.money(pool[name]) for name in names)] for pool in pools]
    sums = [f.money(sum(pool[name] for pool in pools)) for name in names]
    table = grid(heads, lines, total=[v.say("Together"), *sums])
    return section(v.say("Reserve, pool by pool"), (), table)


def _unsold(v: Voice, pools: Sequence[Row]) -> Row | None:
    stock = [pool for pool in pools if pool["unsold_kg"]]
    if not stock:
        return None
    f = v.figures
    lines = [
        [
            pool["code"],
            f.kg(pool["unsold_kg"]),
            "–" if pool["unsold_price"] is None else f.price(pool["unsold_price"]),
            "–" if pool["unsold_minor"] is None else f.money(pool["unsold_minor"]),
        ]
        for pool in stock
    ]
    heads = [v.say("Pool"), v.say("Not sold, kg"), v.say("Declared price a kg"), v.say("Value")]
    valued = [pool["unsold_minor"] for pool in stock if pool["unsold_minor"] is not None]
    total = [v.say("Together"), f.kg(sum((p["unsold_kg"] for p in stock), Decimal(0))), "",
             f.money(sum(valued)) if len(valued) == len(stock) else "–"]  # fmt: skip
    says = [
        v.say(
            "Valued at the price that the plan declares, and in no sum above: what it fetches is "
            "known once it is sold."
        )
    ]
    if len(valued) < len(stock):
        says.append(v.say("Where no price is declared, it is not valued."))
    return section(v.say("Coffee not sold yet"), says, grid(heads, lines, total=total))


def _bank(v: Voice, rows: Sequence[Row], still_open: int) -> Row:
    f = v.figures
    agreed = {code: v.say(text) for code, text in AGREE.items()}
    lines = [
        [
            v.say(word(METHODS, row["method"])),
            agreed[row["why"]],
            f.count(row["count"]),
            f.money(row["paid_minor"]),
            f.money(row["line_minor"]),
        ]
        for row in rows
    ]
    sums = [f.money(sum(row[name] for row in rows)) for name in ("paid_minor", "line_minor")]
    says = v.say("{n} payments or lines have no counterpart that agrees yet.")
    heads = [v.say("Account"), v.say("How they agree"), v.say("Number"), v.say("Payments"),
             v.say("Lines of the account")]  # fmt: skip
    total = [v.say("Together"), "", "", *sums]
    return section(
        v.say("Payments beside the bank"),
        [says.format(n=f.count(still_open))],
        grid(heads, lines, text=2, total=total),
    )
