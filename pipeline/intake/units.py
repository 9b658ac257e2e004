"""Units that a heading or a cell names: what they are worth, exactly, and the marks of
currencies.
"""

import re
from decimal import Context, Decimal
from fractions import Fraction
from functools import cache
from typing import Any

from iso4217 import Currency

from pipeline.intake.characters import fold
from pipeline.intake.kinds import Column, heading_unit
from pipeline.intake.words import word_table

# What a column type measures, and the unit in which it is stored.
MEASURES = {"kg": "weight", "hectares": "area", "metres": "length"}
STORED = {"weight": "kg", "area": "ha", "length": "m"}
# What to write under a column, by the quantity that it measures; words of `said.toml`.
HINTS = {"weight": "kg, g, lb, quintal or t", "area": "ha, acre or m2", "length": "m, ft or cm"}


@cache
def spellings(quantity: str) -> dict[str, str]:
    """Return the units of a quantity (weight, area, length) by every accepted spelling, folded."""
    return {
        fold(word): unit
        for unit, entry in word_table("units")[quantity].items()
        for word in entry["spellings"]
    }


def factor(quantity: str, unit: str, quintal_kg: Decimal) -> Fraction:
    """Return what one of a unit is worth in the stored unit: lb 0.45359237, acre 0.40468564224."""
    if unit == "quintal":
        return Fraction(quintal_kg)
    return Fraction(word_table("units")[quantity][unit]["factor"])


def quantity_of(word: str) -> str | None:
    """Return the quantity that a spelling is a unit of, whatever the column: "ha" is an area."""
    return next((name for name in STORED if fold(word) in spellings(name)), None)


def is_doubtful(word: str) -> bool:
    """Tell whether a word is a unit of different weight from place to place: "ton", "livre"."""
    return fold(word) in word_table("units")["doubtful"]["weight"]


@cache
def measure_names() -> dict[str, str]:
    """Return the local measures by every spelling of theirs, folded: "madebe" is a debe."""
    table: dict[str, list[str]] = word_table("units")["measures"]
    return {fold(word): name for name, words in table.items() for word in words}


def convert(number: str, worth: Fraction, places: int) -> str:
    """Return a number times a factor as text, rounded once, half away from nought, to `places`.

    convert("120", 0.45359237, 3) -> "54.431".
    """
    exact = Fraction(number) * worth * 10**places
    size = (2 * abs(exact.numerator) + exact.denominator) // (2 * exact.denominator)
    digits = str(size).rjust(places + 1, "0")
    sign = "-" if exact < 0 and size else ""
    return f"{sign}{digits[:-places]}.{digits[-places:]}" if places else f"{sign}{digits}"


@cache
def measured(column: Column) -> tuple[str, str]:
    """Return the quantity that a column measures and its unit: ("length", "cm"); "" where none."""
    if quantity := MEASURES.get(column.type):
        return quantity, STORED[quantity]
    quantity = quantity_of(column.unit) if column.type == "quantity" else None
    return (quantity, spellings(quantity)[fold(column.unit)]) if quantity else ("", "")


def worth_in(column: Column, unit: str, quintal_kg: Decimal) -> Fraction:
    """Return what one of a unit is worth in the unit of a column that measures its quantity."""
    quantity, own = measured(column)
    return factor(quantity, unit, quintal_kg) / factor(quantity, own, quintal_kg)


def worth_text(worth: Fraction) -> str:
    """Return a factor as it is shown: "0.45359237"; one without an end with twelve digits."""
    return f"{(Decimal(worth.numerator) / worth.denominator).normalize(Context(prec=12)):f}"


def is_own_unit(column: Column, word: str) -> bool:
    """Tell whether a word is the unit of a column that nothing is converted to: "°C", "hours"."""
    own: list[str] = word_table("units")["own"].get(column.unit, [])
    return fold(word).replace(" ", "").rstrip(".") in {fold(spelling) for spelling in own}


@cache
def heading_units(column: Column, heading: str) -> tuple[str, ...]:
    """Return the units that a heading names for a column: "Net (lb)" -> ("lb",).

    For money the codes of currencies; for a price the weight that it is per.
    """
    words = [fold(word) for word in re.findall(r"[^\W_]+", heading)]
    in_brackets = [fold(word) for word in re.findall(r"\(\s*([^\W_]+)\s*\)", heading)]
    quantity, _ = measured(column)
    if quantity:
        known = spellings(quantity)
        # A letter alone is a unit only where units stand: at the end or in brackets.
        named = [
            known[word]
            for word in words
            if word in known and (len(word) > 1 or word in (*in_brackets, words[-1]))
        ]
        if not named and quantity == "weight":
            named = [measure_names()[word] for word in in_brackets if word in measure_names()]
        return tuple(dict.fromkeys(named)) or _not_known(heading_unit(heading))
    if column.type == "price":
        known = spellings("weight")
        named = [known[word] for word in words if len(word) > 1 and word in known]
        per = heading_unit(heading).rpartition("/")[2].strip()
        return tuple(dict.fromkeys(named)) or (() if is_code(per.upper()) else _not_known(per))
    if column.type == "money":
        return tuple(word for word in re.findall(r"\b[A-Z]{3}\b", heading) if is_code(word))
    unit = heading_unit(heading) if column.unit in word_table("units")["own"] else ""
    return () if is_own_unit(column, unit) else _not_known(unit)


def _not_known(unit: str) -> tuple[str, ...]:
    """Return the unit a heading ends in though it is none that can be converted: "(libras)".

    The heading is recognised without it, so its numbers must not pass for the column's own unit.
    """
    return (fold(unit),) if unit else ()


def own_unit(column: Column, currency: str) -> str:
    """Return the unit of a column's numbers where its heading names none: kg, ha, m, the
    currency.
    """
    if column.type == "money":
        return currency
    return "kg" if column.type == "price" else measured(column)[1]


def other_units(column: Column, heading: str, currency: str) -> str:
    """Return the units that a heading names, joined by "/"; "" where it is the column's own."""
    named = heading_units(column, heading)
    return "" if named == (own_unit(column, currency),) else "/".join(named)


def is_code(word: str) -> bool:
    """Tell whether a word is a currency code of ISO 4217."""
    return word in Currency.__members__


def currency_fits(mark: str, currency: str) -> bool | None:
    """Tell whether a mark can stand for the book's currency; None where it is no known mark.

    "$" fits USD and COP, "€" fits EUR only.
    """
    table: dict[str, Any] = word_table("units")["currency"]
    codes = table.get(mark.casefold().strip(". "))
    if mark.upper() in Currency.__members__:
        codes = [mark.upper()]
    return None if codes is None else currency in codes
