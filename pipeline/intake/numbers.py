"""Numbers as clerks write them: which of point and comma stands before the decimals.

A number is read in every way in which it can be read; what the sheet's other numbers allow then
decides. "61,5" can only have a decimal comma, "1.234" may be either.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass

from pipeline.intake.characters import SPACES

POINT, COMMA = ".", ","
MARK_WORDS = {POINT: "point", COMMA: "comma"}

_CELL = re.compile(
    r"(?P<before>[^0-9]*?)(?P<sign>[+-]?)\s*"
    r"(?P<number>[.,]?[0-9](?:[0-9.,' ]*[0-9])?)"
    r"(?:\s*(?P<after>(?![.,'])[^0-9\s](?:[^0-9]*|(?<=[mM])\s?2|[^0-9]*[mM]\s?2))?)"
)
_FORMS: dict[str, Callable[[str], "re.Match[str] | None"]] = {
    # Thousands are marked all alike, by a space, an apostrophe or the mark that is not the
    # decimals'.
    POINT: re.compile(
        r"([0-9]*|[1-9][0-9]{0,2}(?:([ ',])[0-9]{3})(?:\2[0-9]{3})*)(?:[.]([0-9]+))?"
    ).fullmatch,
    COMMA: re.compile(
        r"([0-9]*|[1-9][0-9]{0,2}(?:([ '.])[0-9]{3})(?:\2[0-9]{3})*)(?:[,]([0-9]+))?"
    ).fullmatch,
}
_TIDY = str.maketrans(dict.fromkeys(SPACES, " ") | {"’": "'", "−": "-", "\u02bc": "'"})


@dataclass(frozen=True, slots=True)
class Written:
    """A cell taken apart: sign, the number itself as written, and what stands before and after
    it.
    """

    sign: str
    number: str
    before: str
    after: str


def take_apart(text: str) -> Written | None:
    """Take a cell apart; None where it holds no number or more than one: "USD 12.50", "-61 kg"."""
    found = _CELL.fullmatch(text.translate(_TIDY).strip())
    if found is None:
        return None
    before, sign = found["before"].strip(), found["sign"]
    if not sign and before[:1] in ("-", "+"):
        before, sign = before[1:].strip(), before[0]
    return Written(sign.replace("+", ""), found["number"], before, (found["after"] or "").strip())


def readings(number: str, *, whole: bool = False) -> dict[str, str]:
    """Return what a number says with the decimals after a point and after a comma, where it can.

    "1.234" -> {".": "1.234", ",": "1234"}; "61,5" -> {",": "61.5"}. `whole`: only whole numbers.
    """
    found: dict[str, str] = {}
    for mark, form in _FORMS.items():
        match = form(number)
        if match is None or not (match[1] or match[3]):
            continue
        digits = re.sub(r"[^0-9]", "", match[1]) or "0"
        decimals = match[3] or ""
        if whole and decimals.strip("0"):
            continue
        found[mark] = f"{digits}.{decimals}" if decimals else digits
    return found


def only_mark(number: str, *, whole: bool = False) -> str:
    """Return the mark that a number's decimals must have, "either" if both do, "" if it has
    none.
    """
    found = readings(number, whole=whole)
    if len(found) == 1:
        return next(iter(found))
    if len(found) == 2 and found[POINT] != found[COMMA]:
        return "either"
    return ""
