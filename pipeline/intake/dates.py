"""Dates as clerks write them: numbers in three orders, written months, a spreadsheet's day numbers.

A date is read in every order in which it can be read; the sheet as a whole then decides.
"""

import re
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cache

from pipeline.intake.characters import fold
from pipeline.intake.reasons import reason

DAY_FIRST, MONTH_FIRST, YEAR_FIRST = "dmy", "mdy", "ymd"
ORDER_WORDS = {
    DAY_FIRST: "day first",
    MONTH_FIRST: "month first",
    YEAR_FIRST: "year first",
}
LANGUAGES = ("en", "fr", "es", "pt", "sw")
# A column of day numbers is told from other whole numbers by its days: 1950-01-01 to 2100-12-31.
FIRST_SERIAL, LAST_SERIAL = 18264, 73415
FIRST_YEAR, LAST_YEAR = 1900, 2100

_TIME = re.compile(r"[T\s]\s*[0-9]{1,2}:[0-9]{2}(:[0-9]{2}([.][0-9]+)?)?\s*([ap]m|z)?$", re.I)
_NOUGHT = re.compile(r"[T\s]\s*0{1,2}:00(:00([.]0+)?)?z?$", re.I)
_NUMBERS = re.compile(r"([0-9]{1,4})\s*([/. -])\s*([0-9]{1,2})\s*\2\s*([0-9]{1,4})")
_DAY_AND_MONTH = re.compile(r"([0-9]{1,2})\s*[/. -]\s*([0-9]{1,2})")
_MONTH_AND_YEAR = re.compile(
    r"(?:0?[1-9]|1[0-2])\s*[/.-]\s*(?:19|20)[0-9]{2}|(?:19|20)[0-9]{2}\s*[/.-]\s*(?:0?[1-9]|1[0-2])"
)
_COMPACT = re.compile(r"((?:19|20)[0-9]{2})([0-9]{2})([0-9]{2})")
_SERIAL = re.compile(r"([0-9]{5})(?:[.][0-9]+)?")
_SMALL_WORDS = frozenset("de del of le el la o the tarehe er do da st nd rd th a e".split())


@dataclass(frozen=True, slots=True)
class DateCell:
    """What a date cell can say: a day under each order, or under all orders; or why it is none.

    `short_year`: the year has two digits. `serial`: a day number. `time`: a time of day was left
    off.
    """

    orders: dict[str, date] = field(default_factory=dict[str, date])
    reason: str = ""
    short_year: bool = False
    serial: bool = False
    time: bool = False
    written: bool = False

    @property
    def day(self) -> date | None:
        """The day, where every possible order gives the same."""
        days = set(self.orders.values())
        return next(iter(days)) if len(days) == 1 else None


def serial_day(number: int) -> date | None:
    """Return the day of a spreadsheet's day number, 1900 system: 1 = 1900-01-01, 61 = 1900-03-01.

    60 is None: the system counts a 29 February 1900 that never was (ECMA-376 part 1, 18.17.4.1).
    """
    if number == 60 or number < 1:
        return None
    return date(1899, 12, 31 if number < 60 else 30) + timedelta(days=number)


def read_date(text: str, this_year: int) -> DateCell:
    """Read a trimmed date cell in every order in which it can be read.

    `this_year`: a year of two digits is the last one not later than the year after this.
    """
    plain = _TIME.sub("", text)
    time = plain != text and not _NOUGHT.search(text)
    numbers = _NUMBERS.fullmatch(plain) or _COMPACT.fullmatch(plain)
    if numbers:
        parts = [part for part in numbers.groups() if part.isdigit()]
        found = _from_numbers(parts, numbers[2], this_year)
    elif serial := _SERIAL.fullmatch(plain):
        day = serial_day(int(serial[1]))
        inside = FIRST_SERIAL <= int(serial[1]) <= LAST_SERIAL
        if not inside or day is None:
            return DateCell(reason="not-a-date")
        return DateCell({"": day}, serial=True, time=len(plain.rstrip(".0")) > 5)
    elif short := _DAY_AND_MONTH.fullmatch(plain):
        first, second = int(short[1]), int(short[2])
        is_day = 0 < min(first, second) <= 12 and max(first, second) <= 31
        return DateCell(reason="no-year" if is_day else "not-a-date")
    elif _MONTH_AND_YEAR.fullmatch(plain):
        return DateCell(reason="no-day")
    else:
        found = _from_words(plain, this_year)
    if time and found.orders:
        return DateCell(found.orders, "", found.short_year, False, True, found.written)
    return found


def _from_numbers(parts: list[str], mark: str, this_year: int) -> DateCell:
    first, second, third = parts
    if len(first) >= 3:
        orders = {"": (first, second, third)}
    else:
        orders = {DAY_FIRST: (third, second, first), MONTH_FIRST: (third, first, second)}
        if mark == "-" and len(third) <= 2:
            orders[YEAR_FIRST] = (first, second, third)
    found: dict[str, date] = {}
    for order, (year, month, day) in orders.items():
        whole = full_year(year, this_year)
        if not FIRST_YEAR <= whole <= LAST_YEAR:
            return DateCell(reason=reason("no-such-year", year))
        if (made := _day(whole, int(month), int(day))) is not None:
            found[order] = made
    if not found:
        return DateCell(reason="no-such-day")
    return DateCell(found, short_year=len(first) <= 2 and len(third) <= 2)


def full_year(year: str, this_year: int) -> int:
    """Return the year that two digits stand for; longer ones stay: "26" is 2026, "98" is 1998."""
    number = int(year)
    if len(year) > 2:
        return number
    last = this_year + 1
    return last - (last - number) % 100


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


@cache
def _names() -> tuple[dict[str, int], dict[str, int]]:
    """Return months and weekdays by their names in five languages, long and short (CLDR)."""
    from babel.dates import get_day_names, get_month_names

    months: dict[str, int] = {"sept": 9, "set": 9}
    weekdays: dict[str, int] = {}
    for language in LANGUAGES:
        for width in ("wide", "abbreviated"):
            month_names: dict[int, str] = dict(get_month_names(width, locale=language))
            day_names: dict[int, str] = dict(get_day_names(width, locale=language))
            for number, name in month_names.items():
                months[fold(name).strip(".")] = number
            for number, name in day_names.items():
                for part in {fold(name).strip("."), fold(name).partition("-")[0]}:
                    weekdays[part] = number
    # "mar" is March in three languages and Tuesday in two: as weekdays such words are left out.
    return months, {name: day for name, day in weekdays.items() if name not in months}


def _from_words(text: str, this_year: int) -> DateCell:
    months, weekdays = _names()
    month, weekday, numbers = 0, -1, list[str]()
    for word in re.findall(r"[0-9]+|[^\W\d_]+", fold(text)):
        if word.isdigit():
            numbers.append(word)
        elif word in months and not month:
            month = months[word]
        elif word in weekdays and weekday < 0:
            weekday = weekdays[word]
        elif word not in _SMALL_WORDS and word not in ("feira",):
            return DateCell(reason="not-a-date")
    if not month or not numbers or len(numbers) > 2:
        return DateCell(reason="not-a-date")
    if len(numbers) == 1:
        return DateCell(reason="no-day" if len(numbers[0]) == 4 else "no-year")
    day, year = numbers if len(numbers[0]) <= 2 else reversed(numbers)
    if len(year) == 3 or len(year) > 4 or len(day) > 2:
        return DateCell(reason=reason("no-such-year", year))
    whole = full_year(year, this_year)
    if not FIRST_YEAR <= whole <= LAST_YEAR:
        return DateCell(reason=reason("no-such-year", year))
    made = _day(whole, month, int(day))
    if made is None:
        return DateCell(reason="no-such-day")
    if weekday >= 0 and made.weekday() != weekday:
        return DateCell(reason="weekday-differs")
    return DateCell({"": made}, short_year=len(year) == 2, written=True)
