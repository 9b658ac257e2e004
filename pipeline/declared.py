"""What book.toml can declare, as plain objects: one class a table."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TypeVar

from pipeline.errors import BookError, SettingsError


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """A season: its code and its first and last civil day, both included."""

    code: str
    first_day: date
    last_day: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """A station where coffee is weighed; `zone` is its altitude zone."""

    code: str
    name: str
    zone: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """A scale: capacity and interval (e) in kg, accuracy class, day of its last verification."""

    code: str
    station: str
    capacity_kg: Decimal
    interval_kg: Decimal
    accuracy_class: str
    verified: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter:
    """A moisture meter: how it measures, and how far off it may read.

    `tolerance_pct` in per cent of the reading, `tolerance_points` at least so many points.
    """

    code: str
    station: str
    method: str
    tolerance_pct: Decimal | None
    tolerance_points: Decimal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """How coffee is brought to green bean equivalent: "factors" or the season's own "measured".

    `least_kg`: so much must have gone into lots before their own outturn is used.
    """

    green: str = "factors"
    least_kg: Decimal = Decimal(1000)


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitSetting:
    """A limit that differs from its default: for all, or one species, form, zone or station."""

    name: str
    value: Decimal
    because: str
    species: str = ""
    form: str = ""
    zone: str = ""
    station: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """What one of a local measure weighs, kg, from a day on; station and form "" stand for all."""

    name: str
    station: str
    form: str
    kg: Decimal
    from_day: date
    authority: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetSettings:
    """How sheets are read where they themselves do not say: table [sheets] of book.toml.

    `date_order`: "dmy", "mdy" or "" for not declared; `decimal_mark`: ".", "," or "".
    `empty_marks`: what counts as an empty cell in a column that may be empty, such as "-".
    """

    date_order: str = ""
    decimal_mark: str = ""
    quintal_kg: Decimal = Decimal(100)
    empty_marks: tuple[str, ...] = ()


ROLES = ("clerk", "manager", "treasurer", "chair", "auditor", "trainer")
# Who may post or pay money, either as the one who does it or as the second.
MONEY_ROLES = ("manager", "treasurer", "chair")


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody who works with the book: the roles in it, and the members who are near.

    `member_no`, `relatives`: members on whose rows this person does not decide. `stations`: those a
    clerk works for, none for all. `language`: in which this person is answered, "" for the book's.
    """

    name: str
    roles: tuple[str, ...]
    member_no: str = ""
    relatives: tuple[str, ...] = ()
    stations: tuple[str, ...] = ()
    language: str = ""

    @property
    def near(self) -> frozenset[str]:
        """The members whose rows this person does not decide on."""
        return frozenset((self.member_no, *self.relatives)) - {""}


Declared = TypeVar("Declared", Season, Station)


def named(what: str, code: str, declared: tuple[Declared, ...]) -> Declared:
    """Return the one with a code; SettingsError names those there are of `what` they are."""
    for one in declared:
        if one.code == code:
            return one
    known = ", ".join(one.code for one in declared)
    raise SettingsError(f"There is no {what} {code!r} in book.toml. It declares: {known}.")


def season_with(seasons: Sequence[Season], first: date, last: date, asked: str) -> Season:
    """Return the latest season that some of these days lie in; BookError where there is none.

    `asked`: the days, as somebody named them.
    """
    found = [one for one in seasons if one.first_day <= last and first <= one.last_day]
    if not found:
        there = ", ".join(f"{one.code}: {one.first_day} to {one.last_day}" for one in seasons)
        raise BookError(
            f"{asked} lies in no season of book.toml ({there}). Ask for a time in one of them."
        )
    return max(found, key=lambda one: one.first_day)
