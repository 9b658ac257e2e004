"""The catalogues: every string in every language, none fuzzy, each with its own places to fill."""

import ast
import io
import string
from pathlib import Path

import pytest
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po

import reports
from reports.figures import Figures
from reports.labels import STATEMENT, labels
from reports.words import LOCALE_DIR, catalogue

SOURCE = Path(reports.__file__).parent
LANGUAGES = sorted(path.name for path in LOCALE_DIR.iterdir() if path.is_dir())
KEYWORDS = ("say", "mark", "gettext")


@pytest.fixture(scope="module")
def strings():
    """The strings that babel finds, as `make words` does."""
    found = extract_from_dir(SOURCE, [("**.py", "python")], keywords=dict.fromkeys(KEYWORDS))
    return {message for _, _, message, _, _ in found}


def kept(language):
    with (LOCALE_DIR / language / "LC_MESSAGES" / "reports.po").open("rb") as file:
        return read_po(file, locale=language)


def places(text):
    return sorted(name for _, name, _, _ in string.Formatter().parse(text) if name is not None)


def test_four_languages_stand_beside_the_english():
    assert LANGUAGES == ["es", "fr", "pt", "sw"]


def test_no_string_of_the_code_is_hidden_from_the_extraction(strings):
    # Older Pythons do not look into f-strings: a string there would never be translated.
    called = set()
    for path in SOURCE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            name = getattr(node, "func", None)
            if isinstance(node, ast.Call) and (
                getattr(name, "attr", getattr(name, "id", "")) in KEYWORDS
            ):
                called |= {a.value for a in node.args[:1] if isinstance(a, ast.Constant)}
    assert called <= strings
    assert len(called) > 200


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_catalogue_holds_every_string_and_no_other(language, strings):
    entries = {entry.id: entry for entry in kept(language) if entry.id}
    assert sorted(strings - entries.keys()) == []
    assert sorted(entries.keys() - strings) == []
    untold = {entry.id for entry in entries.values() if not entry.string or entry.fuzzy}
    assert sorted(untold) == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_each_translation_fills_the_same_places(language):
    wrong = [e.id for e in kept(language) if e.string and places(e.id) != places(e.string)]
    assert wrong == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_translations_begin_and_end_as_their_source(language):
    for entry in kept(language):
        if entry.id and entry.string:
            assert (entry.id[-1] in ".:") == (entry.string[-1] in ".:"), entry.id
            assert entry.id[0].isspace() == entry.string[0].isspace(), entry.id


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_language_is_spoken_and_formats_as_its_readers_write(language):
    assert catalogue(language).gettext("Coffee statement") != "Coffee statement"
    assert labels(language).keys() == STATEMENT.keys()
    # CLDR: Swahili writes 1,234.56; so does Latin America; French and Portuguese a comma.
    money = Figures(language, "USD", 2).money(123456)
    assert (
        money
        == {"fr": "1\u202f234,56", "sw": "1,234.56", "es": "1,234.56", "pt": "1.234,56"}[language]
    )


def test_a_fuzzy_string_is_not_printed(tmp_path, monkeypatch):
    folder = tmp_path / "fr" / "LC_MESSAGES"
    folder.mkdir(parents=True)
    text = '#, fuzzy\nmsgid "Season"\nmsgstr "Raison"\n'
    (folder / "reports.po").write_bytes(io.BytesIO(text.encode()).getvalue())
    monkeypatch.setattr("reports.words.LOCALE_DIR", tmp_path)
    catalogue.cache_clear()
    try:
        assert catalogue("fr").gettext("Season") == "Season"
    finally:
        catalogue.cache_clear()
