"""Rules on receipts and sheets as they follow each other: numbers, days, prices, bringers."""

from checks.rule import NOTE, SEASON, Rule

RULES = (
    Rule(
        code="receipt-gap",
        on=("weighings",),
        severity=NOTE,
        stage=SEASON,
        col="receipt_no",
        query="receipt_gaps",
        where="true",
        facts=("receipt_book", "numbers", "missing"),
        say="Book {receipt_book}: receipt no. {numbers} neither weighed nor void; missing in all: "
        "{missing}.",
        do="Look into the book: send in what was weighed, and name what is void or spoiled.",
        sure=0.6,
    ),
    Rule(
        code="void-receipt-used",
        on=("weighings",),
        severity=NOTE,
        col="receipt_no",
        query="void_receipts_used",
        where="true",
        facts=("receipt_book", "receipt_no"),
        say="Receipt {receipt_book} {receipt_no} is named void or spoiled, and coffee is weighed "
        "on it.",
        do="Look at the copy in the book, and correct the one or the other.",
        sure=0.7,
    ),
    Rule(
        code="receipt-out-of-order",
        on=("weighings",),
        severity=NOTE,
        stage=SEASON,
        col="day",
        query="receipts_out_of_order",
        where="true",
        facts=("receipt_book", "receipt_no", "day", "other_no", "other_day"),
        say="Receipt {receipt_book} {receipt_no} is of {day}, and number {other_no} of "
        "{other_day}: days do not run on with the numbers.",
        do="Look at both receipts; a day or a number may be mistyped, or a page was left out.",
        sure=0.4,
    ),
    Rule(
        code="bunched-at-price",
        on=("weighings",),
        severity=NOTE,
        stage=SEASON,
        col="day",
        query="bunched_at_prices",
        where="true",
        facts=(
            "station",
            "species",
            "form",
            "from_day",
            "earlier_price",
            "later_price",
            "kg",
            "usual_kg",
        ),
        limits=("price_bunched",),
        say="The price of {species} {form} went from {earlier_price} to {later_price} on "
        "{from_day}; within three days station {station} took in {kg} kg, and {usual_kg} kg on "
        "those weekdays of other weeks.",
        do="Look whether days on receipts were moved; members may also have waited for the price.",
        sure=0.3,
    ),
    Rule(
        code="sheet-late",
        on=("weighings",),
        severity=NOTE,
        col="day",
        query="late_sheets",
        where="true",
        facts=("latest_day", "days_after", "late_days"),
        limits=("late_days",),
        say="This sheet's last weighing is of {latest_day}; it came in {days_after} days later.",
        do="Ask the station what kept it; after {late_days} days nobody remembers a weight.",
        sure=0.2,
    ),
    Rule(
        code="one-bringer-for-several",
        on=("weighings",),
        severity=NOTE,
        stage=SEASON,
        col="brought_by",
        query="one_bringer",
        where="true",
        facts=("brought_by", "receipt_book", "from_no", "to_no", "members_full", "kg"),
        limits=("yield_per_tree_usual", "near_capacity"),
        say="Receipts {receipt_book} {from_no} to {to_no}, {kg} kg, follow each other and were all "
        "brought by: {brought_by}. {members_full} of these members have delivered about all that "
        "their trees can bear.",
        do="Neighbours often carry for each other: ask these members what they sent.",
        sure=0.4,
    ),
)
