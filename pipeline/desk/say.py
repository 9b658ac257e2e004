"""Figures as the pages print them: text, formatted once, so that templates hold no arithmetic."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from checks.rules import BY_CODE
from pipeline.intake.kinds import kinds
from pipeline.season.flags import SEVERITY_WORDS, Flag, money_text
from pipeline.settings import Settings


def money(minor: int | None, settings: Settings) -> str:
    """Return an amount with the book's currency, or "" where there is none."""
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


def day(on: date | None) -> str:
    """Return a civil day, or "" where there is none."""
    return "" if on is None else on.isoformat()


def kind_title(name: str | None) -> str:
    """Return what a kind of sheet is called; "not recognised" for none."""
    return kinds()[name].title if name else "not recognised"


def flag_row(flag: Flag, settings: Settings, **more: Any) -> Mapping[str, Any]:
    """Return a flag as a line of the queue."""
    return {
        "short": flag.short,
        "flag": flag.flag,
        "title": BY_CODE[flag.rule].title,
        "now": SEVERITY_WORDS[flag.severity],
        "place": flag.place,
        "say": flag.say,
        "money": money(flag.money_at_stake, settings),
        "kg": kg(flag.kg_at_stake),
        "station": flag.station,
        **more,
    }
