"""What a figure is called, how it is made and what its rows say stands in every language."""

import re
from importlib import resources

import pytest

from pipeline.explain.figures import MEMBER_FIGURES
from pipeline.explain.words import Speech, explain_words, number_in
from pipeline.intake.names import LANGUAGES
from pipeline.settings import read_settings
from tests.checks.test_words import places
from tests.take.small import SETTINGS

OTHERS = [language for language in LANGUAGES if language != "en"]
# Words of values that the book's own queries make; English says the value itself.
OF_VALUES = ("heading", "wood", "basis", "state", "what")


def row_queries() -> dict[str, str]:
    folder = resources.files("pipeline.explain").joinpath("sql")
    return {
        one.name: one.read_text("utf-8")
        for one in folder.iterdir()
        if one.name.startswith("rows_") and one.name.endswith(".sql")
    }


@pytest.mark.parametrize("language", OTHERS)
def test_every_figure_has_its_name_and_its_formula(language: str) -> None:
    words = explain_words(language)
    assert set(words["title"]) == {figure.name for figure in MEMBER_FIGURES}
    assert set(words["formula"]) == {figure.name for figure in MEMBER_FIGURES}
    assert all(words["formula"].values())


@pytest.mark.parametrize("language", OTHERS)
def test_every_phrase_is_there_with_the_same_places(language: str) -> None:
    own, english = explain_words(language), explain_words("en")
    for table in ("row", "said", "unit"):
        assert set(own[table]) == set(english[table]), table
        for name, said in english[table].items():
            assert places(own[table][name]) == places(said), (table, name)
    first = explain_words(OTHERS[0])
    for table in OF_VALUES:
        assert set(own[table]) == set(first[table]), table
        assert all(own[table].values())


def test_rows_say_phrases_that_there_are() -> None:
    texts = row_queries()
    phrases = explain_words("en")["row"]
    said = {name for text in texts.values() for name in re.findall(r"\['([a-z_]+)'", text)}
    assert said - {"member_"} <= set(phrases)
    whole = "\n".join(texts.values())
    sources = ("credit", "visit", "record")
    made = {f"member_{source}" for source in sources}
    assert [name for name in phrases if f"'{name}'" not in whole and name not in made] == []


def test_values_that_queries_make_have_words() -> None:
    macros = resources.files("pipeline.book").joinpath("sql/macros.sql").read_text("utf-8")
    body = macros.partition("temp macro wood_of")[2].partition("end;")[0]
    cost = resources.files("pipeline.season").joinpath("sql/member_cost.sql").read_text("utf-8")
    heading = cost.partition("c.activity,\n    case")[2].partition("end as heading")[0]
    for language in OTHERS:
        words = explain_words(language)
        assert set(re.findall(r"(?:then|else) '([a-z ]+)'", body)) == set(words["wood"])
        told = set(re.findall(r"(?:then|else) '([a-z ]+)'", heading))
        assert told <= set(words["heading"]) and told


def test_a_row_is_said_as_the_language_says_it() -> None:
    clauses = [
        ["kg", "n46.600"],
        ["price", "n1240.5000", "tPL-2026-1", "d2026-03-30"],
        ["also", None],
        None,
        ["allowed_by", "tresolution {0} of 2025"],
    ]
    settings = read_settings(SETTINGS)
    english = Speech(language="en", settings=settings)
    assert english.row(clauses) == (
        "46.600 kg times 1240.5000 (list PL-2026-1, from 2026-03-30) (resolution {0} of 2025)"
    )
    french = Speech(language="fr", settings=settings)
    assert french.row(clauses) == (
        "46,600 kg fois 1\u202f240,5000 (liste PL-2026-1, à partir du 30 mars 2026) "
        "(resolution {0} of 2025)"
    )
    assert french.row([["state", "wstate:sent_back"]]) == "renvoyé"
    assert english.row([["state", "wstate:sent_back"]]) == "sent back"
    assert french.row([["charge", "m123456"]]) == ", avec des frais de 1\u202f234,56"


def test_numbers_are_written_as_the_language_writes_them() -> None:
    # CLDR's signs: a narrow no-break space and a comma in French, a point and a comma in Spanish.
    assert number_in("1,240.50", "fr") == "1\u202f240,50"
    assert number_in("-12,240.50", "es") == "-12.240,50"
    assert number_in("1,240.50", "en") == "1,240.50"
    assert number_in("eight", "fr") == "eight"
