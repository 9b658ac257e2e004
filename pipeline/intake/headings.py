"""Headings: how they are compared, which are known, and in which languages."""

import re
import unicodedata
from collections.abc import Iterable, Sequence
from functools import cache

from pipeline.intake.kinds import LANGUAGES, kinds, normal_heading

# Zero-width and direction marks, soft hyphen, byte order mark: seen by nobody, typed by no clerk.
INVISIBLE = re.compile(
    "[\u00ad\u034f\u061c\u180e\u200b-\u200f\u202a-\u202e\u2060-\u2064\u2066-\u206f\ufeff]"
)
# A title line that says the sheet only adds rows to what was sent before.
ADDS_MARKERS = (
    "only adds",
    "only adds rows",
    "adds only",
    "new rows only",
    "ajouts seulement",
    "ajoute seulement",
    "solo agrega",
    "solo añade",
    "só acrescenta",
    "somente acrescenta",
    "inaongeza tu",
    "nyongeza tu",
)


@cache
def heading_key(text: str) -> str:
    """Reduce a heading to what is compared, without invisible characters, accents composed."""
    return normal_heading(unicodedata.normalize("NFC", INVISIBLE.sub("", text)))


@cache
def known_headings() -> frozenset[str]:
    """Return every heading that any kind accepts, as compared."""
    return frozenset(
        heading_key(spelling)
        for kind in kinds().values()
        for column in kind.columns
        for spelling in column.headings
    )


def count_known(cells: Iterable[str]) -> int:
    """Count the different cells that are headings of any kind."""
    known = known_headings()
    keys = {heading_key(cell) for cell in cells if cell and len(cell) < 100}
    return len(keys & known)


@cache
def heading_languages(kind: str) -> dict[str, frozenset[str]]:
    """Return the headings that a kind accepts, each with the languages that have it."""
    found: dict[str, set[str]] = {}
    for column in kinds()[kind].columns:
        for language, spellings in column.spellings.items():
            for spelling in spellings:
                found.setdefault(heading_key(spelling), set()).add(language)
    return {key: frozenset(languages) for key, languages in found.items()}


@cache
def _all_languages() -> dict[str, frozenset[str]]:
    """Return the headings of all kinds, each with the languages that have it in any of them."""
    found: dict[str, frozenset[str]] = {}
    for kind in kinds():
        for key, languages in heading_languages(kind).items():
            found[key] = found.get(key, frozenset()) | languages
    return found


def language_of(kind: str, headings: Iterable[str], offered: Sequence[str]) -> str:
    """Return the language that most of a sheet's headings are in.

    `kind`: "" where it is not known. Where several have as many: the first of the `offered` ones
    among them, else English before the others. A sheet without a known heading is in the first
    offered language.
    """
    known = heading_languages(kind) if kind else _all_languages()
    spoken = [known.get(heading_key(heading), frozenset[str]()) for heading in headings]
    counts = {language: sum(language in one for one in spoken) for language in LANGUAGES}
    most = [language for language in LANGUAGES if counts[language] == max(counts.values())]
    return next((language for language in offered if language in most), most[0])


def languages_mixed(
    headings: Sequence[str], languages: dict[str, frozenset[str]]
) -> tuple[str, ...]:
    """Return the fewest languages that the headings are in; nothing where one has all."""
    keys = [heading_key(heading) for heading in headings]
    spoken: list[frozenset[str]] = [languages[key] for key in keys if key in languages]
    if not spoken or any(all(code in one for one in spoken) for code in spoken[0]):
        return ()
    chosen: list[str] = []
    left: list[frozenset[str]] = spoken
    while left:
        counts: dict[str, int] = {
            code: sum(code in one for one in left)
            for code in sorted({code for one in left for code in one})
        }
        chosen.append(max(counts, key=lambda code: counts[code]))
        left = [one for one in left if chosen[-1] not in one]
    return tuple(chosen)


def only_adds(titles: Iterable[str]) -> bool:
    """Tell whether a title line says that the sheet only adds rows."""
    markers = {heading_key(marker) for marker in ADDS_MARKERS}
    return any(heading_key(cell) in markers for line in titles for cell in line.split(" | "))
