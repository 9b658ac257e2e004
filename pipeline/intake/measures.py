"""Local measures (a bag, a tin, a debe): what one weighs is what book.toml declares for the row."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import polars as pl

from pipeline.declared import Measure
from pipeline.intake.characters import fold
from pipeline.intake.kinds import Kind, choices, normal_heading
from pipeline.intake.reasons import reason
from pipeline.intake.units import convert, measure_names
from pipeline.settings import Settings


def measure_name(word: str, settings: Settings) -> str | None:
    """Return the local measure that a word names, by its declared or its usual name: "tins" ->
    tin.
    """
    spoken = fold(word).strip(". ")
    declared = {fold(measure.name): measure.name for measure in settings.measures}
    for form in (spoken, spoken.removesuffix("s")):
        if form in declared:
            return declared[form]
    return measure_names().get(spoken)


def declared_kg(
    name: str, station: str, form: str, day: date, settings: Settings
) -> Decimal | None:
    """Return what one of a measure weighs at a station, for a form, on a day, kg, or None.

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


def weighed(
    kind: Kind, text: pl.DataFrame, told: pl.DataFrame, places: int, settings: Settings
) -> pl.DataFrame:
    """Turn amounts of local measures into kilograms by station, form and day of each row.

    `told`: row by row canon, doubt, amount, measure; the first two are filled in.
    """
    names = {c.name for c in kind.columns}
    beside = {"station": "station", "form": "form", "day": kind.day or ""}
    # Columns are added to all rows first: a kind without any of the three has one row of nothing.
    of_rows = text.with_columns(
        (pl.col(name) if name in names else pl.lit("", pl.String)).alias(what)
        for what, name in beside.items()
    )
    looked = told.select("amount", "measure").hstack(of_rows.select(*beside))
    distinct = looked.filter(pl.col("measure").is_not_null()).unique()
    answers = [_kilograms(names, places, settings, *row) for row in distinct.iter_rows()]
    schema = {"kg": pl.String, "unweighed": pl.String}
    weighed = distinct.hstack(pl.DataFrame(answers, schema=schema, orient="row"))
    found = looked.join(
        weighed, on=looked.columns, how="left", nulls_equal=True, maintain_order="left"
    )
    return told.with_columns(
        pl.coalesce("canon", found["kg"]).alias("canon"),
        pl.coalesce("doubt", found["unweighed"]).alias("doubt"),
    )


def _kilograms(
    names: set[str],
    places: int,
    settings: Settings,
    amount: str,
    measure: str,
    station: str | None,
    form: str | None,
    day: str | None,
) -> tuple[str | None, str | None]:
    try:
        on = date.fromisoformat(day or "")
    except ValueError:
        return None, reason("measure-without-row", measure)
    stored = choices("form").get(normal_heading(form or ""), "")
    if ("form" in names and not stored) or ("station" in names and not station):
        return None, reason("measure-without-row", measure)
    code = (station or "").upper()
    kg = declared_kg(measure, code, stored, on, settings)
    if kg is None:
        where = ", ".join(filter(None, [code, stored.replace("_", " "), on.isoformat()]))
        return None, reason("measure-not-declared", measure, where)
    return convert(amount, Fraction(kg), places), None
