"""Texts of book.toml that a book may give in each language."""

import pytest

from pipeline.errors import SettingsError
from pipeline.settings import read_settings
from tests.take.small import SETTINGS

ONE = 'questions_to = "the office at Kessim"'


def whom(text):
    return read_settings(SETTINGS.replace(ONE, text)).questions_to


def test_whom_to_ask_is_one_text_or_one_a_language():
    assert whom(ONE) == {"": "the office at Kessim"}
    both = whom('questions_to.fr = "le comptoir"\nquestions_to.en = "the office"')
    assert both == {"": "the office", "fr": "le comptoir", "en": "the office"}
    assert whom('questions_to.sw = "ofisi"')[""] == "ofisi"


@pytest.mark.parametrize(
    "text",
    ['questions_to = ""', "questions_to = {}", 'questions_to.xx = "who"', "questions_to = 3"],
)
def test_whom_to_ask_that_says_nothing_or_in_no_language_is_refused(text):
    with pytest.raises(SettingsError, match="questions_to"):
        whom(text)


def test_whom_to_ask_works_no_season_out_anew():
    other = SETTINGS.replace(ONE, 'questions_to.fr = "le comptoir"')
    assert read_settings(SETTINGS).season_hash == read_settings(other).season_hash
