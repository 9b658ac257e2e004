"""The week, or run of weeks, that a sheet speaks for."""

import re
from collections.abc import Mapping
from datetime import date, timedelta

from pipeline.intake.found import Doubtful
from pipeline.intake.kinds import Kind

WEEK = re.compile(r"(?<!\d)(20\d\d)-?W(0[1-9]|[1-4]\d|5[0-3])(?!\d)", re.IGNORECASE)
# With fewer dates than this, the dates are too few to speak against the name.
ENOUGH = 3


def week_of(day: date) -> str:
    """Return the ISO week of a day: 2026-03-30 is in 2026-W14."""
    year, week, _ = day.isocalendar()
    return f"{year}-W{week:02d}"


def is_week(text: str) -> bool:
    """Tell whether a text is a week (2026-W14) or a run of weeks (2026-W14..2026-W20)."""
    ends = text.split("..")
    return len(ends) <= 2 and all(WEEK.fullmatch(end) and _is_real(end) for end in ends)


def _is_real(week: str) -> bool:
    found = WEEK.fullmatch(week)
    try:
        return bool(found and date.fromisocalendar(int(found[1]), int(found[2]), 1))
    except ValueError:
        return False


def named_week(name: str) -> tuple[date, date] | None:
    """Return first and last day of the ISO week that a sheet's name gives, if it gives one."""
    found = [f"{m[1]}-W{m[2]}" for m in WEEK.finditer(name)]
    if len(found) != 1 or not _is_real(found[0]):
        return None
    monday = date.fromisocalendar(int(found[0][:4]), int(found[0][6:]), 1)
    return monday, monday + timedelta(days=6)


def span_of(kind: Kind, evidence: list[str], days: Mapping[date, int]) -> str:
    """Return the week that name or title lines give, else that of most dates.

    Doubtful, for a kind whose sheets are told apart by week, where the name's week holds none of
    the dates, or no week holds most of them.
    """
    found = [f"{m[1]}-W{m[2]}" for text in evidence for m in WEEK.finditer(text)]
    named = next((week for week in reversed(found[:8]) if _is_real(week)), "")
    weeks: dict[str, int] = {}
    for day, count in days.items():
        week = week_of(day)
        weeks[week] = weeks.get(week, 0) + count
    dated = sum(weeks.values())
    by_rows = sorted(weeks, key=lambda week: (-weeks[week], week))
    best = by_rows[0] if by_rows else ""
    if "week" not in kind.slot:
        return named or best
    if named:
        if named in weeks or dated < ENOUGH or weeks[best] * 2 <= dated:
            return named
        raise Doubtful("week", "doubtful-week", named, best, answers=(best, named))
    if not best or weeks[best] * 2 > dated or len(weeks) == 1:
        return best
    # What was typed wrong lies far off; the weeks with a fair share of the rows bound the run.
    fair = sorted(week for week in weeks if weeks[week] * 50 > dated)
    span = f"{fair[0]}..{fair[-1]}"
    spread = (fair[0], fair[-1], span, best)
    raise Doubtful("week", "doubtful-week-spread", *spread, answers=(span, *by_rows[:3]))
