"""Local measures (a bag, a tin, a debe): what one weighs is what book.toml declares for the row."""

from datetime import date
from decimal import Decimal

from pipeline.intake.characters import fold
from pipeline.intake.units import measure_names
from pipeline.settings import Measure, Settings


def measure_name(word: str, settings: Settings) -> str | None:
    """Return the local measure that a word names, by its declared or its usual name: "tins" -> tin."""
    spoken = fold(word).strip(". ")
    declared = {fold(measure.name): measure.name for measure in settings.measures}
    for form in (spoken, spoken.removesuffix("s")):
        if form in declared:
            return declared[form]
    return measure_names().get(spoken)


def declared_kg(
    name: str, station: str, form: str, day: date, settings: Settings
) -> Decimal | None:
    """Return what one of a measure weighs at a station, for a form, on a day, kg; None if not declared.

    What is declared for the very station and form comes before what is declared for all; of these
    the latest that began on or before the day.
    """

    def fits(measure: Measure) -> bool:
        same = fold(measure.name) == fold(name) or measure_names().get(fold(measure.name)) == name
        return (
            same
            and measure.station in ("", station)
            and measure.form in ("", form)
            and measure.from_day <= day
        )

    fitting = [measure for measure in settings.measures if fits(measure)]
    if not fitting:
        return None
    return max(fitting, key=lambda m: (m.station != "", m.form != "", m.from_day)).kg
