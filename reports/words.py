"""The words of the documents: English source strings, and catalogues for other languages.

A new language is one file, `locale/<code>/LC_MESSAGES/reports.po`, read as it is, with no step of
compiling; `make words` brings all of them up to the strings in the code.
"""

from __future__ import annotations

import gettext
import io
from functools import cache
from pathlib import Path

from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

LOCALE_DIR = Path(__file__).parent / "locale"
SOURCE_LANGUAGE = "en"


@cache
def catalogue(language: str) -> gettext.NullTranslations:
    """The catalogue of a language; the English source strings need none."""
    if language == SOURCE_LANGUAGE:
        return gettext.NullTranslations()
    made = io.BytesIO()
    # Strings marked as fuzzy are left out: the English is better than a guess.
    with _file(language).open("rb") as kept:
        write_mo(made, read_po(kept, locale=language))
    made.seek(0)
    return gettext.GNUTranslations(made)


def _file(language: str) -> Path:
    return LOCALE_DIR / language / "LC_MESSAGES" / "reports.po"


def spoken(wanted: str | None, offered: tuple[str, ...]) -> str:
    """The language a document is written in: the wanted one where it is offered and there."""
    for language in (wanted, *offered):
        if language is None or language not in offered:
            continue
        if language == SOURCE_LANGUAGE or _file(language).is_file():
            return language
    return SOURCE_LANGUAGE


def mark(message: str) -> str:
    """Marks a string for the catalogue without translating it yet."""
    return message
