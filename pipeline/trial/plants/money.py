"""Faults of payments and prices."""

from datetime import timedelta
from itertools import count

from pipeline.trial.honest import LAST_DAY, Row
from pipeline.trial.planting import Fault, Planting, cents_of
from pipeline.trial.plants.codes import unknown_number

KIND, COFFEE = "payments", "weighings"
_EARLY = 20


def _again(p: Planting, name: str, *, same_number: bool) -> None:
    row = p.free(KIND, lambda row: row["_week"] < _EARLY and row["amount"] > 3000)
    changed = {"_week": row["_week"] + 1}
    if not same_number:
        changed |= {"payment_no": _number(p), "day": row["day"] + timedelta(days=7)}
    twin = p.append(KIND, row, **changed)
    p.note(name, KIND, twin, also=[(KIND, row["_id"])], money=True)


def _number(p: Planting) -> str:
    used = {row["payment_no"] for row in p.season.rows[KIND]}
    return next(f"P-9{n:04d}" for n in count() if f"P-9{n:04d}" not in used)


def _more_than_owed(p: Planting, name: str) -> None:
    """Pay all that the member's coffee of the season is worth once more, and some."""
    row = p.free(KIND, lambda row: row["amount"] > 3000)
    worth = sum(cents_of(place[0], p.row(place)) for place in p.member_rows(COFFEE, row["_member"]))
    row["amount"] += worth * p.whole(11, 15) // 10
    p.note(name, KIND, row, money=True)


def _point_lost(p: Planting, name: str) -> None:
    row = p.free(KIND, lambda row: row["amount"] > 3000)
    row["amount"] *= 100
    p.note(name, KIND, row, money=True)


def _to_unknown(p: Planting, name: str) -> None:
    row = p.free(KIND)
    row["member_no"] = unknown_number(p)
    p.note(name, KIND, row, money=True)


def _negative(p: Planting, name: str) -> None:
    row = p.free(KIND)
    p.texts[KIND, row["_id"], "amount"] = f"-{row['amount'] // 100}.{row['amount'] % 100:02d}"
    p.note(name, KIND, row, money=True)


def _to_another(p: Planting, name: str) -> None:
    """Pay a member what is owed to another who has had less than that."""
    row = p.free(KIND, lambda row: row["amount"] > 20000)

    def poorer(other: Row) -> bool:
        return other["_week"] == row["_week"] and other["amount"] < 4000

    other = p.free(KIND, poorer)
    row["member_no"] = other["member_no"]
    p.note(name, KIND, row, beside=p.member_rows(KIND, other["_member"]), money=True)


def _price_point_lost(p: Planting, name: str) -> None:
    """Add a price from a day on which nothing is weighed any more, so that it harms no row."""
    row = p.free("prices", lambda row: row["list_no"] == "PL-2026-2")
    after = {"from_day": LAST_DAY + timedelta(days=3), "list_no": "PL-2026-3"}
    new = p.append("prices", row, **after, price_per_kg=row["price_per_kg"] * 10)
    p.taken.add(("prices", row["_id"]))
    p.note(name, "prices", new)


FAULTS = (
    Fault(
        kind="payment again, same number",
        of="money",
        plant=lambda p, name: _again(p, name, same_number=True),
    ),
    Fault(
        kind="payment again, another number",
        of="money",
        plant=lambda p, name: _again(p, name, same_number=False),
        cannot="Where more was still owed than was paid again, a sum that others are often paid is "
        "no sign of it.",
    ),
    Fault(kind="paid more than all coffee is worth", of="money", plant=_more_than_owed),
    Fault(kind="payment, point lost", of="money", plant=_point_lost),
    Fault(kind="paid to another member", of="money", plant=_to_another),
    Fault(kind="payment to no member", of="reference", plant=_to_unknown),
    Fault(kind="negative payment", of="arithmetic", plant=_negative),
    Fault(kind="price, point lost", of="money", plant=_price_point_lost, a_season=2),
)
