"""Formats every printed figure, once, for one language and one currency."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from babel import Locale
from babel.dates import format_date, format_skeleton
from babel.numbers import get_decimal_symbol, get_group_symbol

# English in world form: day before month, comma thousands, point decimals; Spanish as in the
# Americas.
_LOCALES = {"en": "en_001", "es": "es_419"}


@dataclass(frozen=True, slots=True)
class _Places:
    """How many decimals a figure has at least and at most."""

    least: int
    most: int


# A weight shows every digit its sheet held; a figure worked out has as many in every row.
_KG = _Places(1, 3)
_PERCENT = _Places(1, 2)
_THOUSANDTHS = _Places(3, 3)
_FACTOR = _Places(0, 6)
_DAYS = _Places(0, 1)
_COUNT = _Places(0, 0)


class Figures:
    """Numbers, dates and money as they are printed in one language."""

    def __init__(self, language: str, currency: str, decimals: int) -> None:
        self.locale = Locale.parse(_LOCALES.get(language, language))
        self.currency = currency
        self.decimals = decimals
        self._days: dict[dt.date, str] = {}
        self._money = _Places(decimals, decimals)
        # A price list has up to four decimals, whatever the currency's coins.
        self._price = _Places(decimals, max(decimals, 4))
        # Babel's own formatting asks for these signs in each call: a statement has 200 figures.
        self._signs = str.maketrans(
            {
                ",": get_group_symbol(self.locale),
                ".": get_decimal_symbol(self.locale),
                # A hyphen is too short to be seen in front of a sum of money.
                "-": "−",
            }
        )

    def _number(self, value: Decimal | int, places: _Places) -> str:
        text = f"{Decimal(value):,.{places.most}f}"
        if places.most > places.least:
            bare = text.rstrip("0")
            least = len(text) - places.most + places.least
            # Without a decimal its sign goes too.
            text = text[: max(len(bare), least)].rstrip(".")
        return text.translate(self._signs)

    def count(self, value: int) -> str:
        """A whole number: 1240 gives 1,240."""
        return self._number(value, _COUNT)

    def kg(self, value: Decimal) -> str:
        """Kilograms, every recorded digit kept: 1240.000 gives 1,240.0."""
        return self._number(value, _KG)

    def percent(self, value: Decimal) -> str:
        """Per cent without the sign: 11.80 gives 11.8."""
        return self._number(value, _PERCENT)

    def gbe(self, value: Decimal) -> str:
        """Kilograms of green bean equivalent: 34.72 gives 34.720."""
        return self._number(value, _THOUSANDTHS)

    def factor(self, value: Decimal) -> str:
        """How many for one, every digit that counts: 6.0000 gives 6, 1.2500 gives 1.25."""
        return self._number(value, _FACTOR)

    def days(self, value: Decimal) -> str:
        """Days worked: 10.0 gives 10, 2.5 gives 2.5."""
        return self._number(value, _DAYS)

    def money(self, minor: int) -> str:
        """Money without its currency: 123456 minor units of two decimals gives 1,234.56."""
        return self._number(Decimal(minor).scaleb(-self.decimals), self._money)

    def cash(self, minor: int) -> str:
        """Money with its currency code: 123456 gives USD 1,234.56."""
        return f"{self.currency}\u00a0{self.money(minor)}"

    def price(self, value: Decimal) -> str:
        """Money a kilogram: 0.6200 gives 0.62."""
        return self._number(value, self._price)

    def month(self, day: dt.date) -> str:
        """The month of a day: May 2026."""
        return format_skeleton("yMMMM", day, locale=self.locale)

    def day(self, day: dt.date) -> str:
        """A civil day: 4 May 2026."""
        text = self._days.get(day)
        if text is None:
            text = self._days[day] = format_date(day, "medium", locale=self.locale)
        return text
