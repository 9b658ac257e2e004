"""What the reports must know about the cooperative, given to them by whoever calls."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

Row = dict[str, Any]
"""One row of a query: column name to value."""

Explain = Callable[[Row, str], str]
"""Turns one row of `flags` into its plain sentence, in a language."""


class ReportError(Exception):
    """A document cannot be made as it stands; the message says which and why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Deduction:
    """One deduction the members have agreed to, and by what authority; `names` by language."""

    code: str
    name: str
    authority: str
    names: Mapping[str, str] = field(default_factory=dict[str, str], hash=False)

    def named(self, language: str) -> str:
        """Its name in a language, or its usual one where the book gives none."""
        return self.names.get(language, self.name)


@dataclass(frozen=True, slots=True, kw_only=True)
class CoopFacts:
    """The cooperative and the season that a document is about.

    `decimals` is the currency's number of minor digits (ISO 4217); `moisture_band` is in
    per cent, wet basis: green coffee for export, 8 to 12.5 (ICO Resolution 420, 2004).
    `questions_to`: who is asked, by language, and under "" for any other.
    `undeclared`: deductions that no line of book.toml declares, by code.
    """

    name: str
    place: str
    currency: str
    decimals: int
    languages: tuple[str, ...]
    questions_days: int
    questions_to: Mapping[str, str]
    season: str
    first_day: dt.date
    last_day: dt.date
    deductions: tuple[Deduction, ...]
    stations: Mapping[str, str]
    undeclared: Mapping[str, Deduction] = field(default_factory=dict[str, Deduction])
    moisture_band: tuple[Decimal, Decimal] = (Decimal("8"), Decimal("12.5"))

    def asked(self, language: str) -> str:
        """Who is asked about a figure, in a language or as the book says it for all."""
        return self.questions_to.get(language, self.questions_to[""])

    @property
    def weeks(self) -> int:
        """Weeks of the season, a part of a week counting as one: 30 March to 4 October, 27."""
        return ((self.last_day - self.first_day).days + 7) // 7
