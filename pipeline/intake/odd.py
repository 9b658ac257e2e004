"""Why a cell that could not be read could not be read: one look at each distinct odd text."""

import re

from rapidfuzz import fuzz, process

from pipeline.intake.characters import (
    has_invisible,
    is_nothing,
    latin_digits,
    number_in_words,
    without_lookalikes,
)
from pipeline.intake.dates import read_date
from pipeline.intake.kinds import Column, choices, normal_heading
from pipeline.intake.numbers import take_apart
from pipeline.intake.reasons import reason
from pipeline.intake.units import HINTS, MEASURES, STORED, quantity_of

LONGEST_TEXT = 500
# How alike two words are, of 100, before one is offered for the other.
ALIKE = 70
NEAR_OFFERED = 3

_PLAIN = re.compile(r"[+-]?[0-9]+([.][0-9]+)?")
_SEVERAL = re.compile(r"[0-9][0-9.,]*\s*([/;&+|~:–—-]|\s)\s*[0-9][0-9.,]*\D*")
NUMBERS = frozenset(
    (
        "kg",
        "percent",
        "metres",
        "hectares",
        "price",
        "days",
        "quantity",
        "money",
        "integer",
        "degrees",
    )
)


def why_not(column: Column, text: str, places: int) -> str:
    """Return the reason why a trimmed text is no value of a column.

    `places`: decimals that the column keeps.
    """
    if column.type == "geometry":
        return "not-a-shape"
    if len(text) > LONGEST_TEXT:
        return reason("too-long", str(LONGEST_TEXT))
    common = _of_any_column(column, text)
    if common:
        return common
    if column.type in NUMBERS:
        return _no_number(column, text, places)
    if column.type == "date":
        # The year only matters for two digits, and these would have been read.
        return read_date(text, 2000).reason or "not-a-date"
    if column.type == "time":
        return "not-a-time"
    if column.type == "choice":
        return _no_choice(column, text)
    return "not-a-code"


def _of_any_column(column: Column, text: str) -> str:
    if is_nothing(text):
        return "no-value"
    if column.type in NUMBERS | {"date", "time", "choice"} and text.startswith("="):
        return "formula"
    if has_invisible(text):
        return "invisible-characters"
    if column.type in NUMBERS or column.type == "date":
        latin = latin_digits(text)
        if latin is not None:
            return reason("other-digits", latin)
    return ""


def _no_number(column: Column, text: str, places: int) -> str:
    if _PLAIN.fullmatch(text):
        return _plain_but_unfit(column, text, places)
    words = number_in_words(text)
    if words is not None:
        return reason("number-in-words", str(words))
    meant = without_lookalikes(text)
    if meant is not None:
        return reason("letter-for-digit", meant)
    if re.fullmatch(r"[0-9]+([.][0-9]+){2,}|[0-9]+(,[0-9]+){2,}|[0-9]*[.,]{2,}[0-9]*", text):
        return "several-points"
    if bracketed := re.fullmatch(r"\(\s*([0-9][0-9.,]*)\s*\)", text):
        return reason("number-in-brackets", f"-{bracketed[1]}", bracketed[1])
    written = take_apart(text)
    if written is not None and (unit := f"{written.before} {written.after}".strip()):
        return _unit(column, unit)
    if _SEVERAL.fullmatch(text):
        return "two-numbers"
    return "not-a-whole-number" if column.type == "integer" else "not-a-number"


def _plain_but_unfit(column: Column, text: str, places: int) -> str:
    decimals = text.partition(".")[2]
    if column.type == "integer":
        return "not-a-whole-number" if decimals.strip("0") else "too-large"
    return "too-many-decimals" if len(decimals.rstrip("0")) > places else "too-large"


def _unit(column: Column, unit: str) -> str:
    quantity = MEASURES.get(column.type)
    if len(unit) > 30 or not any(letter.isalpha() or letter in "%$€£" for letter in unit):
        return "not-a-number"
    if quantity is None or quantity_of(unit) or unit == "%":
        return reason("unit-does-not-fit", unit)
    return reason("unknown-unit", unit, STORED[quantity], HINTS[quantity])


def _no_choice(column: Column, text: str) -> str:
    spellings = choices(column.choices)
    near = process.extract(
        normal_heading(text), spellings.keys(), scorer=fuzz.ratio, score_cutoff=ALIKE, limit=10
    )
    offered = dict.fromkeys(spellings[found].replace("_", " ") for found, _, _ in near)
    if not offered:
        return "not-a-choice"
    return reason("near-choice", " / ".join(list(offered)[:NEAR_OFFERED]))
