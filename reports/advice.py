"""Advice that follows from a member's own figures: a list of rules, and how many are printed.

Practices are common teaching of the trade: a third of the wood renewed by pruning each year from
year seven, mulch kept a foot clear of the stem, dry parchment kept at 12.5 % moisture or less
(ICO Resolution 420, 2004). Nothing here is a dose, and spraying always brings its cautions.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from reports.facts import Row
from reports.words import mark

MOST = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """A condition on one member's figures, and the sentence that goes with it."""

    code: str
    when: Callable[[Row], bool]
    say: str


ADVICE: tuple[Advice, ...] = (
    Advice(
        code="spraying",
        when=lambda m: m["spraying_rows"] > 0,
        say=mark(
            "You recorded spraying. Read and follow the label and the law, and wear the "
            "protective gear the label names. Children, and women who are pregnant or nursing, "
            "do not handle sprays and stay away from sprayed places. Never use a container "
            "again. Ask the extension worker first."
        ),
    ),
    Advice(
        code="drying",
        when=lambda m: m["wet_readings"] > 0,
        say=mark(
            "Moisture was above {most} % in {wet} of your {readings} readings. Dry longer in thin "
            "layers, cover at night and in rain, and measure again before you bring it."
        ),
    ),
    Advice(
        code="pruning",
        when=lambda m: m["yield_low"] and m["pruning_rows"] == 0,
        say=mark(
            "Your trees bore less than most in your village and no pruning is recorded. Old "
            "stems bear little: ask the trainer to look at the stems with you before the next "
            "flowering."
        ),
    ),
    Advice(
        code="renewal",
        when=lambda m: m["overdue"] and m["pruning_rows"] == 0,
        say=mark(
            "On a block of yours the stems were last renewed more than three years ago. Common "
            "practice from the seventh year on is to cut one main stem of each tree a year: ask "
            "the trainer which."
        ),
    ),
    Advice(
        code="below-cost",
        when=lambda m: m["below_cost"],
        say=mark(
            "Your coffee fetched less a kilogram than it cost. Look with the trainer at the two "
            "largest costs, and at the trees that bear least, before you spend or borrow more."
        ),
    ),
    Advice(
        code="feeding",
        when=lambda m: m["yield_low"] and m["feeding_rows"] == 0,
        say=mark(
            "Mulch, kept a foot clear of the stem, and manure help trees that bear less than "
            "most in the village. Start with the weakest rows."
        ),
    ),
    Advice(
        code="record",
        when=lambda m: m["record_rows"] == 0,
        say=mark(
            "Write down each week what was done and spent, even if only one line: with it this "
            "statement can show whether the season paid."
        ),
    ),
    Advice(
        code="weeks",
        when=lambda m: 0 < m["record_weeks"] * 2 < m["weeks"],
        say=mark(
            "Your farm record covers {record_weeks} of {weeks} weeks. A line for every week, "
            "also when nothing was spent, makes the margin one you can trust."
        ),
    ),
    Advice(
        code="receipts",
        when=lambda m: m["deliveries"] > 0,
        say=mark(
            "Keep every receipt until this statement is settled, and hold it beside the list of "
            "deliveries that follows."
        ),
    ),
)


def fitting(member: Row) -> list[Advice]:
    """The first few rules whose condition the member's figures meet."""
    return [rule for rule in ADVICE if rule.when(member)][:MOST]
