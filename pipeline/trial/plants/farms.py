"""Faults of farm records."""

from collections.abc import Callable
from datetime import timedelta

from pipeline.trial.honest import Row
from pipeline.trial.planting import Fault, Planting

KIND = "farm_record"


def _change(
    change: Callable[[Planting, Row], object], suits: Callable[[Row], bool]
) -> Callable[[Planting, str], None]:
    def plant(p: Planting, name: str) -> None:
        row = p.free(KIND, suits)
        change(p, row)
        p.note(name, KIND, row)

    return plant


def _any(row: Row) -> bool:
    return True


def _picked_too_soon(p: Planting, name: str) -> None:
    """Pick on the plot that was sprayed, three days later."""
    row = p.free(KIND, lambda row: row["activity"] == "spraying" and row["_week"] < 24)
    row["plot_no"] = 1
    empty = dict.fromkeys(("item", "quantity", "unit", "cost", "product", "waiting_days"))
    day = row["day"] + timedelta(days=3)
    week = row["_week"] + (day.isocalendar().week - row["day"].isocalendar().week)
    new = p.append(KIND, row, **empty, activity="picking", day=day, _week=week)
    p.note(name, KIND, new, also=[(KIND, row["_id"])])


FAULTS = (
    Fault(
        kind="sixty days of hired work in a day",
        of="physics",
        plant=_change(lambda p, row: row.update(hired_days=600), _any),
    ),
    Fault(
        kind="twelve days of family work in a day",
        of="farm record",
        plant=_change(lambda p, row: row.update(family_days=120), _any),
    ),
    Fault(
        kind="sprayed without waiting days",
        of="farm record",
        plant=_change(
            lambda p, row: row.update(waiting_days=None),
            lambda row: row["activity"] == "spraying",
        ),
    ),
    Fault(kind="picked before the wait is over", of="farm record", plant=_picked_too_soon),
    Fault(
        kind="plot that the member does not have",
        of="reference",
        plant=_change(lambda p, row: row.update(plot_no=9), _any),
    ),
    Fault(
        kind="cost, point lost",
        of="farm record",
        plant=_change(
            lambda p, row: row.update(cost=row["cost"] * 100), lambda row: (row["cost"] or 0) > 200
        ),
    ),
    Fault(
        kind="work written down without anything",
        of="farm record",
        plant=_change(
            lambda p, row: row.update(
                dict.fromkeys(("family_days", "hired_days", "quantity", "cost"))
            ),
            lambda row: row["activity"] != "spraying",
        ),
    ),
)
