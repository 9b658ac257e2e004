"""Figures as the pages print them: text, formatted once, so that templates hold no arithmetic."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from checks.rules import BY_CODE
from pipeline.printed import kg as kg
from pipeline.printed import money as money
from pipeline.printed import plain as plain
from pipeline.season.flags import SEVERITY_WORDS, Flag
from pipeline.settings import Settings


def day(on: date | None) -> str:
    """Return a civil day, or "" where there is none."""
    return "" if on is None else on.isoformat()


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
