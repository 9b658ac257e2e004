"""Prices, and the weekly payments that follow from what was weighed."""

from datetime import date

import numpy as np
import polars as pl

from pipeline.samples.draws import Draws, Whole
from pipeline.samples.people import Members, days_from
from pipeline.samples.season import FIRST_DAY, FORMS, Lines, Receipts

SECOND_LIST_WEEK = 13
# Ten-thousandths of a dollar per kg: price list, form (as in FORMS), grade 1 and 2.
PRICES = (
    ((6200, 5600), (34000, 31200), (12200, 11000)),
    ((6600, 5900), (35500, 32500), (12800, 11500)),
)
LEAST_PAYMENT_CENTS = 500


def price_list(number: int) -> pl.DataFrame:
    """Return price list 1 (from the season's first day) or 2 (from a Monday in mid-season)."""
    first = FIRST_DAY if number == 1 else date(2026, 6, 29)
    rows = [
        (first, "robusta" if form == "dry_cherry" else "arabica", form, grade + 1, price)
        for form, grades in zip(FORMS, PRICES[number - 1], strict=True)
        for grade, price in enumerate(grades)
    ]
    names = ["from_day", "species", "form", "grade", "price_per_kg"]
    return pl.DataFrame(rows, schema=names, orient="row").with_columns(
        list_no=pl.lit(f"PL-2026-{number}")
    )


def due_cents(slips: Receipts, lines: Lines) -> Whole:
    """Return what each line is worth in cents, less the levy and the transport.

    Each is rounded to the cent, half away from zero: 60.0 kg at 0.62 is 37.20, less 1.12 levy
    and 1.20 transport.
    """
    week, form = slips.week[lines.receipt], slips.form[lines.receipt]
    price = np.array(PRICES, dtype=np.int64)[
        (week >= SECOND_LIST_WEEK).astype(np.int64), form, lines.grade - 1
    ]
    value = (lines.net_hg * price + 500) // 1000
    levy = (value * 3 + 50) // 100
    transport = np.where(form == 0, (lines.net_hg * 2 + 5) // 10, 0)
    return value - levy - transport


def payments(
    seed: int, register: Members, slips: Receipts, lines: Lines, lent: Whole | None = None
) -> pl.DataFrame:
    """Draw the weekly payments: up to 80 to 95 % of what the weeks before are worth.

    `lent`: what each member owes on issue notes, cents: that much coffee is not paid out.
    """
    draws = Draws(seed, "payments")
    people, weeks = len(register.number), int(slips.week.max()) + 1
    cell = slips.member[lines.receipt] * weeks + slips.week[lines.receipt]
    worth = np.bincount(cell, weights=due_cents(slips, lines), minlength=people * weeks)
    owed = np.cumsum(worth.reshape(people, weeks).astype(np.int64), axis=1)
    if lent is not None:
        owed = owed - lent[:, np.newaxis]
    paid = np.zeros(people, dtype=np.int64)
    method = draws.pick([0.5, 0.2, 0.3], people)
    parts: list[tuple[Whole, Whole, Whole]] = []
    for week in range(1, weeks):
        share = 800 + draws.whole(0, 150, people)
        amount = owed[:, week - 1] * share // 1000 - paid
        who = np.flatnonzero((amount >= LEAST_PAYMENT_CENTS) & draws.hit(0.9, people))
        paid[who] += amount[who]
        parts.append((np.full(len(who), week, dtype=np.int64), who, amount[who]))
    week, who, amount = (np.concatenate(part) for part in zip(*parts, strict=True))
    numbers = pl.Series(np.arange(1, len(who) + 1)).cast(pl.String).str.zfill(5)
    return pl.DataFrame(
        {
            "week": week,
            "payment_no": "P-" + numbers,
            # Paid out on Fridays.
            "day": days_from(FIRST_DAY, 7 * week + 4),
            "member_no": register.number[who],
            "amount": amount,
            "method": pl.Series(["cash", "bank", "mobile"]).gather(method[who]),
        }
    ).with_columns(paid_by=pl.lit("Lio Tessan"))
