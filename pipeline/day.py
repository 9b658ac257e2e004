"""Closes a day at a station: receipts written = coffee taken in = cash paid out."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from pipeline.book.book import Book, kept_settings
from pipeline.declared import season_with
from pipeline.money import money_text
from pipeline.season.tables import connect, dicts, season_sql
from pipeline.settings import Settings
from pipeline.upkeep import whole_file

Rows = list[dict[str, Any]]
# So many numbers are named in a sentence; the rest is counted.
NAMED = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """A station's day: receipts a book, coffee by form and grade, money a member; kg, minor units.

    `differs` holds a sentence for each thing that does not agree; none where the day closes.
    """

    station: str
    day: date
    receipts: Rows
    coffee: Rows
    money: Rows
    differs: list[str]


def close_day(book: Book, station: str, day: date) -> Day:
    """Look at one day of one station; SettingsError or BookError where none is declared so."""
    settings = kept_settings(book.journal())
    settings.station(station)
    season = season_with(settings.seasons, day, day, str(day)).code
    asked = {"station": station, "day": day}
    with connect(str(whole_file(book, season)), macros=True) as con:
        receipts = dicts(con, season_sql("day_receipts"), asked)
        coffee = dicts(con, season_sql("day_coffee"), asked)
        money = dicts(con, season_sql("day_money"), asked)
    differs = [*_receipts_differ(receipts), *_coffee_differs(coffee), *_money(money, settings)]
    return Day(
        station=station, day=day, receipts=receipts, coffee=coffee, money=money, differs=differs
    )


def _receipts_differ(receipts: Rows) -> list[str]:
    says = (
        ("missing", "written nowhere, nor listed as void or spoiled: look for the receipts"),
        ("void_used", "weighed though listed as void or spoiled: look which is right"),
        ("outside", "not in the book as it was handed out: look at book and number"),
        ("other_day", "written on another day: look at the dates"),
    )
    found = [
        f"Book {row['receipt_book']}, receipt {_numbers(row[what])}: {said}."
        for row in receipts
        for what, said in says
        if row[what]
    ]
    found += [
        f"Book {row['receipt_book']} is in no list of receipt books: send the list, or look at "
        "its number."
        for row in receipts
        if not row["declared"]
    ]
    return found


def _coffee_differs(coffee: Rows) -> list[str]:
    lines = sum(row["waiting_lines"] for row in coffee)
    kg = sum(row["waiting_kg"] for row in coffee)
    wait = [f"{lines} lines with {kg:f} kg wait and are not counted: see the flags."]
    return wait if lines else []


def _money(money: Rows, settings: Settings) -> list[str]:
    found: list[str] = []
    if not any(row["paid_minor"] for row in money):
        # Where nothing is paid at the scale, what is owed is no difference.
        return found
    for row in money:
        due, paid = row["due_minor"], row["paid_minor"]
        if due == paid:
            continue
        who = f"{row['name'] or 'Member'} ({row['member_no']})"
        said = (
            f"{who} brought no coffee and was paid {cash(paid, settings)}."
            if not due
            else f"{who}: coffee less deductions {cash(due, settings)}, cash "
            f"{cash(paid, settings)}, {cash(due - paid, settings)} apart."
        )
        found.append(said)
    return found


def cash(minor: int, settings: Settings) -> str:
    """Return an amount in the book's currency: 123456 at two decimals is 1,234.56 USD."""
    return f"{money_text(minor, settings.decimals)} {settings.currency}"


def _numbers(numbers: list[int]) -> str:
    shown = ", ".join(map(str, numbers[:NAMED]))
    more = len(numbers) - NAMED
    return f"{shown} and {more} more" if more > 0 else shown
