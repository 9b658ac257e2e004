"""The people of a book and their roles, as book.toml declares them."""

import pytest

from pipeline.errors import SettingsError
from pipeline.settings import read_settings
from tests.take.small import SETTINGS

LIO = '\n[[person]]\nname = "Lio Tessan"\nroles = ["treasurer", "clerk"]\n'


def test_people_have_names_and_roles() -> None:
    (person,) = read_settings(SETTINGS + LIO).people
    assert (person.name, person.roles) == ("Lio Tessan", ("treasurer", "clerk"))
    assert read_settings(SETTINGS).people == ()


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (LIO + LIO, "'Lio Tessan' is there twice"),
        (LIO.replace("clerk", "king"), "a list of: clerk, manager"),
        (LIO.replace('["treasurer", "clerk"]', '"treasurer"'), "a list of: clerk"),
        (LIO.replace("name", "called"), "a text in quotes is needed here"),
    ],
)
def test_people_who_cannot_be_read_are_refused(wrong: str, said: str) -> None:
    with pytest.raises(SettingsError, match=said):
        read_settings(SETTINGS + wrong)
