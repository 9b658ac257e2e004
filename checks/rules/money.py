"""Rules on prices and payments."""

from checks.rule import HOLD, NOTE, SEASON, Rule

RULES = (
    Rule(
        code="price-far-from-others",
        on=("prices",),
        severity=HOLD,
        col="price_per_kg",
        where="price_per_kg > middle_price * price_high "
        "or price_per_kg * price_high < middle_price",
        facts=("price_per_kg", "middle_price", "price_high"),
        limits=("price_high",),
        say="A price of {price_per_kg} is more than {price_high} times away from {middle_price}, "
        "the middle price for this coffee.",
        do="Look at the resolution; a point may be lost.",
        sure=0.8,
    ),
    Rule(
        code="no-price",
        on=("weighings",),
        severity=HOLD,
        col="grade",
        where="price_per_kg is null and day between first_day and last_day "
        "and species is not null and form is not null and grade is not null",
        facts=("species", "form", "grade", "day"),
        say="No price list has a price for {species} {form}, grade {grade}, on {day}.",
        do="Correct the grade, or send in the price list that holds from that day.",
        sure=1,
    ),
    Rule(
        code="paid-more-than-owed",
        on=("payments",),
        severity=NOTE,
        col="amount",
        query="paid_more_than_owed",
        where="owed_minor > 0",
        facts=("owed_minor", "paid_minor"),
        say="Up to this payment {paid_minor} was paid, and only {owed_minor} was owed.",
        do="Look for a payment entered twice, or coffee that still waits; tell the treasurer.",
        sure=0.6,
        stage=SEASON,
    ),
    Rule(
        code="payment-without-delivery",
        on=("payments",),
        severity=NOTE,
        col="amount",
        query="paid_more_than_owed",
        where="owed_minor <= 0",
        facts=("paid_minor", "waiting_rows", "waiting_kg", "waiting_first"),
        say="Up to this payment {paid_minor} was paid, and nothing was owed: no delivery counts "
        "by that day. {waiting_rows} of this member's weighings wait ({waiting_kg} kg), the first: "
        "{waiting_first}.",
        do="Settle the weighing that waits; where there is none, ask what was paid for.",
        sure=0.7,
        stage=SEASON,
    ),
)
