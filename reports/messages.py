"""Text messages: what a statement, a delivery or a month says in two messages at most.

Lengths are those of 3GPP TS 23.038 and 23.040: one message carries 160 signs of the GSM alphabet
or 70 of any other, each of several together 153 or 67.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

import gsm0338

from reports.facts import Row
from reports.statement_parts import Voice

MOST = 2
_ALPHABET = gsm0338.Codec()
# What no handset misses: typographic signs for which the alphabet has a plain one.
_PLAIN = str.maketrans({"\u00a0": " ", "\u202f": " ", "−": "-", "–": "-", "’": "'", "‘": "'",
                        "“": '"', "”": '"'})  # fmt: skip


@dataclass(frozen=True, slots=True)
class Part:
    """A sentence of a message; of too many, those of the highest `rank` are left out first."""

    text: str
    rank: int = 0


def plain(text: str) -> str:
    """The text in signs of the GSM alphabet where each has one: ñ and é stay, ã becomes a.

    A letter that has no plain form, such as ŋ, stays, and the message then carries fewer signs.
    """
    return "".join(_plain_letter(letter) for letter in text.translate(_PLAIN))


def _plain_letter(letter: str) -> str:
    if _septets(letter) is not None:
        return letter
    bare = unicodedata.normalize("NFKD", letter)[:1]
    return bare if bare.isascii() and _septets(bare) is not None else letter


def _septets(text: str) -> int | None:
    """Signs of seven bits that the text takes, or None where a letter is not in the alphabet."""
    try:
        return len(_ALPHABET.encode(text)[0])
    except UnicodeError:
        return None


def count(text: str) -> int:
    """How many messages a text takes: 160 plain signs 1, 161 two; with one ŋ, 70 are 1."""
    septets = _septets(text)
    if septets is not None:
        return 1 if septets <= 160 else -(-septets // 153)
    units = len(text.encode("utf-16-be")) // 2
    return 1 if units <= 70 else -(-units // 67)


def fitted(parts: Sequence[Part]) -> str:
    """The parts as one text of two messages at most; the least needed are left out, then cut."""
    kept = [part for part in parts if part.text]
    while True:
        text = plain(" ".join(part.text for part in kept))
        most = max((part.rank for part in kept), default=0)
        if count(text) <= MOST or most == 0:
            break
        kept = [part for part in kept if part.rank < most]
    while count(text) > MOST:
        text = text[:-1]
    return text


def statement_text(v: Voice, model: Row) -> str:
    """A dated statement as a text message: the figures that matter, and how to question them."""
    who, issue, sums = model["member"], model["issue"], model["sums"]
    waits = len(model["waiting"]["rows"])
    owed = model["figures"][2]
    return fitted(
        [
            Part(f"{model['coop']}:", 5),
            Part(f"{who['name'][:40]}, {who['no']}."),
            Part(v.say("Season {season}: coffee {kg} as green, value {value}.").format(
                season=model["season"], kg=sums["gbe"], value=sums["value"])),
            Part(v.say("Deducted {amount}.").format(amount=sums["deducted"]), 3),
            Part(v.say("Paid {amount}.").format(amount=sums["paid"]), 2),
            Part(f"{owed['label']} {owed['value']}."),
            Part(v.say("Deliveries that wait: {n}.").format(n=v.figures.count(waits)), 1)
            if waits else Part(""),
            Part(v.say("Questions until {until}: {whom}.").format(
                until=issue["until"], whom=issue["whom"]), 4),
            Part(v.say("Statement") + f" {issue['number']}."),
        ]
    )  # fmt: skip


def slip(v: Voice, row: Row, so_far: Row) -> list[Part]:
    """What a member is told after a delivery; rows of `slips` and `running_total`."""
    f = v.figures
    said = [
        Part(f"{v.facts.name}:", 5),
        Part(f"{row['name'][:40]}, {row['member_no']}."),
        Part(v.say("Receipt {receipt}, {day}, {station}: {coffee}, {kg} kg net.").format(
            receipt=row["receipt"], day=f.day(row["day"]), station=v.station(row["station"]),
            coffee=row["coffee"], kg=f.kg(row["net_kg"]))),
    ]  # fmt: skip
    if row["state"] != "counted":
        return [*said, Part(v.say("It waits and is not lost; ask at the office why."))]
    if row["value_minor"] is not None:
        said.append(
            Part(v.say("At {price} a kg it is worth {value}.").format(
                price=f.price(row["price_per_kg"]), value=f.cash(row["value_minor"])))
        )  # fmt: skip
    return [*said, *_so_far(v, so_far)]


def month(v: Voice, row: Row, name: str) -> list[Part]:
    """What a member is told of a month and of the season so far; a row of `running_total`."""
    f = v.figures
    brought = v.say("{month}: deliveries {n}, {kg} kg as green, value {value}.").format(
        month=name, n=f.count(row["deliveries"]), kg=f.gbe(row["gbe_kg"]),
        value=f.cash(row["value_minor"]),
    )  # fmt: skip
    return [
        Part(f"{v.facts.name}:", 5),
        Part(f"{row['name'][:40]}, {row['member_no']}."),
        Part(brought),
        *_so_far(v, row),
    ]


def _so_far(v: Voice, row: Row) -> list[Part]:
    f, owed = v.figures, row["so_far_balance_minor"]
    label = v.say("Owed to you") if owed >= 0 else v.say("You have been overpaid")
    return [
        Part(v.say("Season so far: {kg} kg as green, value {value}.").format(
            kg=f.gbe(row["so_far_gbe_kg"]), value=f.cash(row["so_far_value_minor"])), 1),
        Part(v.say("Deducted {amount}.").format(amount=f.cash(row["so_far_deducted_minor"])), 4),
        Part(v.say("Paid {amount}.").format(amount=f.cash(row["so_far_paid_minor"])), 3),
        Part(f"{label} {f.cash(abs(owed))}.", 2),
    ]  # fmt: skip
