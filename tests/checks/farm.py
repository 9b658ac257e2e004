"""Rows for the rules on farm records and payments."""

from tests.checks.cases import (
    OVERPAID,
    OWED,
    STRANGER,
    cells_of,
    days,
    fails,
    limit,
    passes,
)

FARM_RECORD = [
    *cells_of({"cost": "twelve"}, {"activity": ""}),
    *days(),
    passes("unknown-member"),
    fails("unknown-member", member_no=STRANGER),
    passes("unknown-plot"),
    passes("unknown-plot", plot_no=""),
    fails("unknown-plot", plot_no="99"),
    passes("impossible-value"),
    limit("impossible-value", cost="0"),
    limit("impossible-value", "impossible-value", cost="-0.01"),
    fails("impossible-value", family_days="-1"),
    fails("impossible-value", hired_days="-0.5"),
    fails("impossible-value", quantity="-10"),
    passes("labour-over-ceiling", family_days="20", hired_days="10"),
    limit("labour-over-ceiling", family_days="20", hired_days="20"),
    limit("labour-over-ceiling", "labour-over-ceiling", family_days="20", hired_days="20.1"),
    fails("labour-over-ceiling", family_days="", hired_days="200"),
    fails("impossible-value", waiting_days="-14"),
    passes("spraying-without-label", activity="spraying", product="copper wash", waiting_days="14"),
    passes("spraying-without-label", activity="spraying", product="oil", waiting_days="0"),
    fails("spraying-without-label", activity="spraying", product="copper wash"),
    fails("spraying-without-label", activity="spraying", waiting_days="14"),
    passes("record-row-empty", family_days="", cost="", quantity="10"),
    fails("record-row-empty", family_days="", cost=""),
]

# 60 kg at 1.00 is 60.00, less 3 % is 58.20.
PAYMENTS = [
    *cells_of({"amount": "10.005"}, {"method": ""}),
    passes("outside-season"),
    limit("outside-season", day="2026-03-30"),
    limit("outside-season", "outside-season", day="2026-03-29"),
    fails("outside-season", day="2025-05-08"),
    passes("in-the-future"),
    limit("in-the-future", day="2026-06-30"),
    fails("in-the-future", day="2026-07-01"),
    passes("unknown-member"),
    fails("unknown-member", member_no=STRANGER),
    passes("payment-twice", payment_no="TWICE"),
    fails("payment-twice", payment_no="TWICE"),
    passes("impossible-value"),
    limit("impossible-value", amount="0.01"),
    limit("impossible-value", "impossible-value", amount="0"),
    fails("impossible-value", amount="-10.00"),
    passes("paid-more-than-owed"),
    # On the day of the coffee itself, for the whole of it.
    limit("paid-more-than-owed", member_no=OWED, day="2026-05-04", amount="58.20"),
    passes("paid-more-than-owed", member_no=OVERPAID, amount="58.00"),
    fails("paid-more-than-owed", member_no=OVERPAID, amount="0.21"),
]
