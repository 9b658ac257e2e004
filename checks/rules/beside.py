"""Rules that hold one weight beside what else tells of it: bags, the member's record, lots' cards.

They name the line and the figure that would make both agree; a person looks at the paper.
"""

from checks.rule import NOTE, SEASON, Rule

PAPER = "Look at the receipt, and amend the line if a digit, a point or a unit slipped."

RULES = (
    Rule(
        code="bag-too-heavy",
        on=("weighings",),
        severity=NOTE,
        col="net_kg",
        # Beyond what the scale can weigh there is a flag already.
        where="bags > 0 and net_kg > bag_kg_high * bags "
        "and coalesce(gross_kg <= capacity_kg, true)",
        facts=("net_kg", "bags", "bag_kg_high"),
        limits=("bag_kg_high",),
        say="{net_kg} kg in {bags} bags is more than {bag_kg_high} kg a bag.",
        do="Look at the receipt: the weight may be in another unit or of other coffee, or bags "
        "were left out of the count.",
        sure=0.7,
    ),
    Rule(
        code="bag-nearly-empty",
        on=("weighings",),
        severity=NOTE,
        col="net_kg",
        where="bags > 0 and net_kg > 0 and net_kg < bag_kg_low * bags",
        facts=("net_kg", "bags", "bag_kg_low"),
        limits=("bag_kg_low",),
        say="{net_kg} kg in {bags} bags is less than {bag_kg_low} kg a bag.",
        do="Look at the receipt: a point may have slipped, or measures were written for kilograms.",
        sure=0.5,
    ),
    Rule(
        code="weight-beside-record",
        on=("weighings",),
        severity=NOTE,
        stage=SEASON,
        col="gross_kg",
        query="slips_beside_records",
        where="true",
        facts=("gross_kg", "record_kg", "receipt_kg", "corrected_kg"),
        say="The member's own record says {record_kg} kg, this receipt {receipt_kg} kg. With "
        "{corrected_kg} kg gross on this line, not {gross_kg} kg, the two would agree.",
        do=PAPER,
        source="Spread of such records by way of the MAD; four times as much is beyond chance",
        sure=0.8,
    ),
    Rule(
        code="weight-beside-lot-card",
        on=("weighings",),
        severity=NOTE,
        stage=SEASON,
        col="gross_kg",
        query="slips_beside_cards",
        where="not whole_line",
        facts=(
            "station",
            "day",
            "form",
            "card_kg",
            "receipts_kg",
            "gross_kg",
            "corrected_kg",
            "lines_that_fit",
        ),
        say="The lots' cards of station {station} say that {card_kg} kg of {form} came in on "
        "{day}; the receipts add up to {receipts_kg} kg. With {corrected_kg} kg gross on this "
        "line, not {gross_kg} kg, the two would agree; lines of which that may be said: "
        "{lines_that_fit}.",
        do=PAPER,
        source="Spread of cards beside receipts by way of the MAD",
        sure=0.7,
    ),
    Rule(
        code="line-beside-lot-card",
        on=("weighings",),
        severity=NOTE,
        stage=SEASON,
        col="day",
        query="slips_beside_cards",
        where="whole_line",
        facts=("station", "day", "form", "card_kg", "receipts_kg", "lines_that_fit"),
        say="The lots' cards of station {station} say that {card_kg} kg of {form} came in on "
        "{day}; the receipts add up to {receipts_kg} kg. This line alone is as much as they "
        "differ by; lines of which something alike may be said: {lines_that_fit}.",
        do="Look at the receipt: the day or the form may be another.",
        source="Spread of cards beside receipts by way of the MAD",
        sure=0.6,
    ),
    Rule(
        code="receipt-of-other-member",
        on=("weighings",),
        severity=NOTE,
        stage=SEASON,
        col="member_no",
        query="receipts_of_others",
        where="true",
        facts=("receipt_book", "receipt_no", "member_no", "other_member_no", "record_kg"),
        say="Receipt {receipt_book} {receipt_no} is written to member {member_no}; member "
        "{other_member_no} wrote it down as their own, {record_kg} kg.",
        do="Look at the receipt: it may be the other's, or a number of theirs was mistyped.",
        sure=0.7,
    ),
    Rule(
        code="receipt-of-two-forms",
        on=("weighings",),
        severity=NOTE,
        stage=SEASON,
        col="form",
        query="receipts_of_two_forms",
        where="true",
        facts=("receipt_book", "receipt_no", "form", "other_forms"),
        say="This line of receipt {receipt_book} {receipt_no} is {form}, its other lines are "
        "{other_forms}; the member brought {form} at no other time.",
        do="Look at the receipt, and amend the form if it slipped.",
        sure=0.5,
    ),
)
