"""Why a cell that could not be read could not be read: one look at each distinct odd text."""

import re
from decimal import Decimal

from rapidfuzz import fuzz, process

from pipeline.intake.characters import (
    UNREAD,
    digits_meant,
    has_invisible,
    is_error,
    is_nothing,
    latin_digits,
    number_in_words,
    with_decimals,
    without_lookalikes,
)
from pipeline.intake.dates import read_date
from pipeline.intake.kinds import Column, choices, normal_heading
from pipeline.intake.numbers import take_apart
from pipeline.intake.reasons import reason
from pipeline.intake.units import HINTS, measured, quantity_of

LONGEST_TEXT = 500
# How alike two words are, of 100, before one is offered for the other.
ALIKE = 70
NEAR_OFFERED = 3

_PLAIN = re.compile(r"[+-]?[0-9]+([.][0-9]+)?")
_TIME = re.compile(
    r"(?P<hour>[0-9]{1,2})\s*(?:(?P<mark>[.:hH])\s*(?P<minute>[0-9]{2})?(?:\s*m(?:in)?)?)?"
    r"\s*(?P<half>[ap][.]?\s?m[.]?)?",
    re.I,
)
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
        if column.type in NUMBERS and _PLAIN.fullmatch(text.rstrip("…")):
            return "too-large"
        return reason("too-long", str(LONGEST_TEXT))
    common = _of_any_column(column, text)
    if common:
        return common
    if column.type in NUMBERS:
        return _no_number(column, text, places)
    if column.type == "date":
        return _no_date(text)
    if column.type == "time":
        meant = time_meant(text)
        return reason("near-time", meant) if meant else "not-a-time"
    if column.type == "choice":
        return _no_choice(column, text)
    return "not-a-code"


def _of_any_column(column: Column, text: str) -> str:
    if UNREAD in text:
        return "unreadable-character"
    if is_error(text):
        return reason("spreadsheet-error", text)
    if is_nothing(text):
        if not column.required:
            return "no-value"
        return "no-value-needed" if column.type in NUMBERS else "no-word-needed"
    if column.type in NUMBERS | {"date", "time", "choice"} and text.startswith("="):
        return "formula"
    if has_invisible(text):
        return "invisible-characters"
    if column.type in NUMBERS or column.type == "date":
        latin = latin_digits(text)
        if latin is not None:
            return reason("other-digits", latin)
    return ""


def _no_date(text: str) -> str:
    # The year only matters for two digits, and these would have been read.
    why = read_date(text, 2000).reason or "not-a-date"
    meant = digits_meant(text)
    if why == "not-a-date" and meant is not None and read_date(meant, 2000).orders:
        return reason("letter-for-digit", meant)
    return why


def time_meant(text: str) -> str | None:
    """Return hour:minute for a time of day in another way: "7.30 pm", "8h30"; else None."""
    found = _TIME.fullmatch(text)
    if found is None or not (found["mark"] or found["half"]):
        return None
    hour, minute = int(found["hour"]), int(found["minute"] or 0)
    half = (found["half"] or "")[:1].casefold()
    if half and not 1 <= hour <= 12:
        return None
    hour = hour % 12 + 12 * (half == "p") if half else hour
    return f"{hour:02d}:{minute:02d}" if hour < 24 and minute < 60 else None


def _no_number(column: Column, text: str, places: int) -> str:
    if _PLAIN.fullmatch(text):
        return _plain_but_unfit(column, text, places)
    words = number_in_words(text)
    if words is not None:
        return reason("number-in-words", str(words))
    if (decimals := with_decimals(text)) is not None:
        return reason("fraction", decimals)
    meant = without_lookalikes(text)
    if meant is not None:
        return reason("letter-for-digit", meant)
    if re.fullmatch(r"[0-9]+([.][0-9]+){2,}|[0-9]+(,[0-9]+){2,}|[0-9]*[.,]{2,}[0-9]*", text):
        return "several-points"
    if bracketed := re.fullmatch(r"\(\s*([0-9][0-9.,]*)\s*\)", text):
        return reason("number-in-brackets", f"-{bracketed[1]}", bracketed[1])
    if behind := re.fullmatch(r"([0-9][0-9.,]*)\s*[-−]", text):
        return reason("minus-behind", f"-{behind[1]}", behind[1])
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
    if len(decimals.rstrip("0")) <= places:
        return "too-large"
    share = Decimal(text) * 100
    if column.type == "percent" and 0 < share < 100:
        return reason("share-of-one", f"{share.normalize():f}")
    return "too-many-decimals"


def _unit(column: Column, unit: str) -> str:
    quantity, own = measured(column)
    if len(unit) > 30 or not any(letter.isalpha() or letter in "%$€£" for letter in unit):
        return "not-a-number"
    if not quantity or quantity_of(unit) or unit == "%":
        return reason("unit-does-not-fit", unit)
    return reason("unknown-unit", unit, own, HINTS[quantity])


def _no_choice(column: Column, text: str) -> str:
    spellings = choices(column.choices)
    near = process.extract(
        normal_heading(text), spellings.keys(), scorer=fuzz.ratio, score_cutoff=ALIKE, limit=10
    )
    offered = dict.fromkeys(spellings[found].replace("_", " ") for found, _, _ in near)
    if not offered:
        return "not-a-choice"
    return reason("near-choice", " / ".join(list(offered)[:NEAR_OFFERED]))
