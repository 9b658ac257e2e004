"""The words of the documents: English source strings, and catalogues for other languages.

A new language is one file, `locale/<code>/LC_MESSAGES/reports.po`: its strings are found with
`pybabel extract -k say -k mark -k gettext reports`, and compiled with `pybabel compile -D reports`.
"""

from __future__ import annotations

import gettext
from functools import cache
from pathlib import Path

LOCALE_DIR = Path(__file__).parent / "locale"
SOURCE_LANGUAGE = "en"


@cache
def catalogue(language: str) -> gettext.NullTranslations:
    """The catalogue of a language; the English source strings need none."""
    if language == SOURCE_LANGUAGE:
        return gettext.NullTranslations()
    return gettext.translation("reports", LOCALE_DIR, languages=[language])


def spoken(wanted: str | None, offered: tuple[str, ...]) -> str:
    """The language a document is written in: the wanted one where it is offered and there."""
    for language in (wanted, *offered):
        if language is None or language not in offered:
            continue
        if language == SOURCE_LANGUAGE or gettext.find("reports", LOCALE_DIR, [language]):
            return language
    return SOURCE_LANGUAGE


def mark(message: str) -> str:
    """Marks a string for the catalogue without translating it yet."""
    return message
