"""Faults of codes, dates and references in weighings."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from pipeline.samples.people import damm_digits
from pipeline.trial.honest import FIRST_DAY, LAST_DAY, Row
from pipeline.trial.planting import Fault, NoRowLeft, Planting

KIND = "weighings"


def unknown_number(p: Planting) -> int:
    """Return a number with a right check digit that no member of the register has."""
    import numpy as np

    known = {row["member_no"] for row in p.season.rows["members"]}
    bases = np.array([base for base in range(1000, 9999)])
    numbers = [int(no) for no in bases * 10 + damm_digits(bases) if int(no) not in known]
    return int(p.one_of(numbers))


def wrong_check_digit(p: Planting, number: int) -> int:
    """Return a member's number with another last digit."""
    return number // 10 * 10 + (number % 10 + p.whole(1, 9)) % 10


def _set(
    column: str, new: Callable[[Planting, Row], Any], suits: Callable[[Row], bool]
) -> Callable[[Planting, str], None]:
    def plant(p: Planting, name: str) -> None:
        row = p.free(KIND, suits)
        row[column] = new(p, row)
        p.note(name, KIND, row, money=True)

    return plant


def _any(row: Row) -> bool:
    return True


def _other_scale(p: Planting, row: Row) -> str:
    codes = [place.code for place in p.season.places if place.code != row["_at"]]
    return f"{p.one_of(codes)}-1"


def _swapped_day(row: Row) -> date | None:
    """Return the row's day with day and month changed round, where that is a day of the season."""
    day: date = row["day"]
    if day.day > 12 or day.day == day.month:
        return None
    found = date(day.year, day.day, day.month)
    return found if FIRST_DAY <= found <= LAST_DAY else None


def _comes(p: Planting, row: Row) -> date:
    """Return the Monday on which the row's sheet comes in."""
    late = p.season.late.get((KIND, row["_week"], row["_at"]), 0)
    return FIRST_DAY + timedelta(weeks=row["_week"] + 1 + late)


def _day_and_month(p: Planting, name: str, *, later: bool) -> None:
    def suits(row: Row) -> bool:
        day = _swapped_day(row)
        return day is not None and (day > _comes(p, row)) == later

    row = p.free(KIND, suits)
    row["day"] = _swapped_day(row)
    p.note(name, KIND, row, money=True)


def _to_come(p: Planting, row: Row) -> date:
    return _comes(p, row) + timedelta(days=p.whole(1, 9))


def _weeks_off(p: Planting, row: Row) -> date:
    return row["day"] - timedelta(weeks=p.whole(2, 5))


def _two_members(p: Planting, name: str) -> None:
    row = p.free(KIND, lambda row: row["line"] == 1 and bool(p.receipt_rows(row["_receipt"])))
    others = p.rows(
        KIND,
        lambda other: (
            other["day"] == row["day"]
            and other["_at"] == row["_at"]
            and other["_member"] != row["_member"]
            and other["species"] == row["species"]
            and other["form"] == row["form"]
        ),
    )
    if not others:
        raise NoRowLeft(KIND)
    other = p.one_of(others)
    of_both = [
        place
        for receipt in (row["_receipt"], other["_receipt"])
        for place in p.receipt_rows(receipt)
    ]
    both = [p.row(place) for place in of_both if place[0] == KIND]
    records = [place for place in of_both if place[0] != KIND]
    for line in both:
        line["member_no"] = (
            other["_member"] if line["_receipt"] == row["_receipt"] else row["_member"]
        )
    p.note(name, KIND, *both, also=records, money=True, traced=bool(records))


FAULTS = (
    Fault(
        kind="member not in the register",
        of="reference",
        plant=_set("member_no", lambda p, row: unknown_number(p), _any),
    ),
    Fault(
        kind="member number, wrong check digit",
        of="reference",
        plant=_set("member_no", lambda p, row: wrong_check_digit(p, row["member_no"]), _any),
    ),
    Fault(kind="unknown scale", of="reference", plant=_set("scale", lambda p, row: "XQZ-7", _any)),
    Fault(kind="scale of another station", of="reference", plant=_set("scale", _other_scale, _any)),
    Fault(
        kind="unknown station", of="reference", plant=_set("station", lambda p, row: "XQZ", _any)
    ),
    Fault(kind="unknown grade", of="reference", plant=_set("grade", lambda p, row: 7, _any)),
    Fault(
        kind="form without a price",
        of="reference",
        plant=_set("form", lambda p, row: "dry_cherry", lambda row: row["form"] == "parchment"),
    ),
    Fault(
        kind="date of the season before",
        of="reference",
        plant=_set("day", lambda p, row: row["day"].replace(year=row["day"].year - 1), _any),
    ),
    Fault(
        kind="date after the sheet came in",
        of="reference",
        plant=_set("day", _to_come, lambda row: row["_week"] < 20),
    ),
    Fault(
        kind="day and month swapped: to come",
        of="reference",
        plant=lambda p, name: _day_and_month(p, name, later=True),
    ),
    Fault(
        kind="day and month swapped: past",
        of="date",
        plant=lambda p, name: _day_and_month(p, name, later=False),
    ),
    Fault(
        kind="date two to five weeks early",
        of="date",
        plant=_set("day", _weeks_off, lambda row: row["_week"] > 6),
    ),
    Fault(
        kind="two members' receipts swapped",
        of="slip",
        plant=_two_members,
        cannot="Where neither member keeps a record, both receipts are as good as true ones.",
    ),
)
