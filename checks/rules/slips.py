"""Rules that name a likely slip: a weight far from the member's own others, and what would fit."""

from checks.rule import HOLD, NOTE, Rule

BOTH = ("weighings", "deliveries")
FACTS = ("weight_kg", "others", "middle_kg", "corrected_kg")
LIMITS = ("slip_rows", "peers_score")

RULES = (
    Rule(
        code="weight-point-lost",
        on=("weighings",),
        severity=HOLD,
        col="net_kg",
        query="likely_slips",
        # Beyond what the scale can weigh there is a flag already.
        where="paid and slip = 'point' and times > 1 and coalesce(gross_kg <= capacity_kg, true)",
        facts=FACTS,
        limits=LIMITS,
        say="{weight_kg} kg is far above this member's {others} other weights of this coffee, "
        "about {middle_kg} kg each. A point may be lost: {corrected_kg} kg would fit.",
        do="Look at the receipt, and amend the weight if a point or a digit slipped.",
        sure=0.9,
    ),
    Rule(
        code="weight-point-slipped",
        on=BOTH,
        severity=NOTE,
        col="",
        query="likely_slips",
        where="slip = 'point' and (times < 1 or not paid)",
        facts=FACTS,
        limits=LIMITS,
        say="{weight_kg} kg is far from this member's {others} other weights of this coffee, about "
        "{middle_kg} kg each. A point may have slipped: {corrected_kg} kg would fit.",
        do="Look at the paper, and amend the weight if a point or a digit slipped.",
        sure=0.7,
    ),
    Rule(
        code="weight-in-pounds",
        on=BOTH,
        severity=NOTE,
        col="",
        query="likely_slips",
        where="slip = 'pounds'",
        facts=FACTS,
        limits=LIMITS,
        say="{weight_kg} kg is far from this member's {others} other weights of this coffee, about "
        "{middle_kg} kg each. Pounds and kilograms may be mixed up: {corrected_kg} kg would fit.",
        do="Ask in which unit it was weighed, and amend the weight if it was the other.",
        sure=0.6,
    ),
    Rule(
        code="weight-of-other-form",
        on=BOTH,
        severity=NOTE,
        col="",
        query="likely_slips",
        where="slip = 'form'",
        facts=(*FACTS, "form", "times"),
        limits=LIMITS,
        say="{weight_kg} kg of {form} is about {times} times this member's {others} other weights, "
        "about {middle_kg} kg each. Fresh cherry weighs about 3 times dry cherry and 5 times "
        "parchment: {corrected_kg} kg would fit.",
        do="Ask in which form the coffee came, and amend the form or the weight.",
        sure=0.5,
    ),
)
