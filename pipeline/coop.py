"""What documents must know of the cooperative, from its settings."""

from decimal import Decimal

from checks.limits import applied
from pipeline.season.money import deductions_in_order
from pipeline.settings import Settings
from reports.facts import CoopFacts, Deduction


def coop_facts(settings: Settings, season: str) -> CoopFacts:
    """Return what the reports must know of the cooperative."""
    days = settings.season(season)
    band = [
        applied(name, settings.limits, form="parchment").value
        for name in ("moisture_safe_low", "moisture_safe_high")
    ]
    return CoopFacts(
        name=settings.name,
        place=settings.place,
        currency=settings.currency,
        decimals=settings.decimals,
        languages=settings.languages,
        questions_days=settings.questions_days,
        questions_to=settings.questions_to,
        season=season,
        first_day=days.first_day,
        last_day=days.last_day,
        deductions=tuple(
            Deduction(code=d.code, name=d.name, authority=d.authority, names=d.names)
            for d in settings.deductions
        ),
        undeclared={
            d.code: Deduction(code=d.code, name=d.name, authority=d.authority)
            for d in deductions_in_order(settings)
            if d not in settings.deductions
        },
        stations={station.code: station.name for station in settings.stations},
        moisture_band=(band[0] or Decimal(0), band[1] or Decimal(100)),
    )
