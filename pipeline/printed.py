"""Figures as pages and commands print them: text with its unit, "" where there is none."""

from decimal import Decimal

from pipeline.money import money_text
from pipeline.settings import Settings


def money(minor: int | None, settings: Settings) -> str:
    """Return an amount with the book's currency: 123456 is 1,234.56 USD."""
    return "" if minor is None else f"{money_text(minor, settings.decimals)} {settings.currency}"


def kg(weight: Decimal | None) -> str:
    """Return a weight with its unit, without noughts at its end: 448.000 is 448 kg."""
    return "" if weight is None else f"{plain(weight)} kg"


def plain(number: Decimal | int | None) -> str:
    """Return a number with thousands apart and no noughts at its end."""
    if number is None:
        return ""
    text = f"{number:,}" if isinstance(number, int) else f"{number:,f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
