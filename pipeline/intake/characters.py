"""What a cell is made of: what cannot be seen, other scripts' digits, look-alikes, words for
numbers.
"""

import re
import unicodedata
from decimal import Decimal
from functools import cache

from pipeline.intake.words import word_table

# Zero-width and bidirectional marks, soft hyphen, byte order mark: seen by no reader of the sheet.
INVISIBLE = (
    "\u00ad\u061c\u180e\u200b\u200c\u200d\u200e\u200f\u202a\u202b\u202c\u202d\u202e"
    "\u2060\u2061\u2062\u2063\u2064\u2066\u2067\u2068\u2069\ufeff"
)
# What is taken off both ends of a cell before it is compared.
_WHITE = (
    " \t\r\n\v\f\u00a0\u1680\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a"
    "\u2028\u2029\u202f\u205f\u3000"
)
BLANK = _WHITE + INVISIBLE
SPACES = "\u00a0\u2007\u2009\u202f"

# What clerks write where there is nothing to write, in the five languages.
NOTHING = frozenset(
    "- -- --- – — … ... . ? ?? / // n/a na n.a. n.a nil none null nd n.d. n/d s/d sd "
    "aucun aucune néant rien ninguno ninguna nada nenhum nenhuma hakuna hamna".split()
)
# What spreadsheets show where a formula has no result: "#DIV/0!", "#NOM?", "Err:502".
ERROR = r"(?i)^(?:#[^\s#!?]{1,14}[!?]|#n/[ad]|#getting_data|err:[0-9]{3})$"
# Stands in the place of what could not be read as a letter.
UNREAD = "\ufffd"
_LOOKALIKES = str.maketrans({"O": "0", "o": "0", "l": "1", "I": "1", "|": "1"})


def is_nothing(text: str) -> bool:
    """Tell whether a cell holds a mark for nothing: "-", "n/a", "nil"."""
    return text.casefold() in NOTHING


def is_error(text: str) -> bool:
    """Tell whether a cell holds what a spreadsheet shows for an error: "#DIV/0!"."""
    return text[:1] in ("#", "e", "E") and re.match(ERROR, text) is not None


def has_invisible(text: str) -> bool:
    """Tell whether a character that cannot be seen stands inside a trimmed cell."""
    return any(character in INVISIBLE for character in text)


def latin_digits(text: str) -> str | None:
    """Return the text with other scripts' digits as 0 to 9; None where it has none of these."""
    found = "".join(
        str(unicodedata.decimal(letter)) if not letter.isascii() and letter.isdecimal() else letter
        for letter in text
    ).replace("\u066b", ".")
    return found if found != text else None


def without_lookalikes(text: str) -> str | None:
    """Return "60.5" for "6O.5" or "6l" as "61"; None where that makes no plain number of it."""
    found = digits_meant(text)
    return found if found and re.fullmatch(r"[+-]?[0-9]+([.,][0-9]+)?", found) else None


def digits_meant(text: str) -> str | None:
    """Return text with each letter that looks like a digit as that digit; None where it has none.

    A hint only: "1OO43" -> "10043", "2O26-05-04" -> "2026-05-04".
    """
    found = text.translate(_LOOKALIKES)
    return found if found != text and any(letter.isdigit() for letter in text) else None


def with_decimals(text: str) -> str | None:
    """Return a number that ends in a fraction with decimals: "11½" -> "11.5"; None for others.

    Only halves, quarters and eighths, which decimals give whole.
    """
    found = re.fullmatch(r"([0-9]{0,6})\s?(?:([¼-¾⅛-⅞])|([0-9])/([248]))", text)
    if found is None or (found[3] and found[1] and " " not in text):
        return None
    part = unicodedata.numeric(found[2]) if found[2] else int(found[3]) / int(found[4])
    # Eighths are exact in binary too.
    return str(int(found[1] or 0) + Decimal(part)) if part < 1 else None


def fold(text: str) -> str:
    """Return text in small letters without accents, for comparing words: "Août" -> "aout"."""
    apart = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in apart if not unicodedata.combining(letter))


@cache
def _number_words() -> list[tuple[dict[str, int], str]]:
    found: list[tuple[dict[str, int], str]] = []
    for language in word_table("numbers").values():
        words = {
            fold(word).replace("-", " "): n for n, word in enumerate(language["words"].split())
        }
        tens = zip(language["tens"].split(), range(30, 110, 10), strict=True)
        words |= {fold(word).replace("-", " "): n for word, n in tens}
        found.append((words, language["joins"]))
    return found


def number_in_words(text: str) -> int | None:
    """Return the number that words stand for: "twelve", "vingt-cinq", "ishirini na tano"; else
    None.

    Small numbers only, up to 109: a hint for the clerk.
    """
    spoken = re.sub(r"[\s-]+", " ", fold(text)).strip()
    for words, joins in _number_words():
        if spoken in words:
            return words[spoken]
        for cut in (place.start() for place in re.finditer(" ", spoken)):
            high, low = spoken[:cut], spoken[cut + 1 :].removeprefix(f"{joins} ")
            if words.get(high, 0) >= 20 and 0 < words.get(low, 0) < 20:
                return words[high] + words[low]
    return None
