"""The clerk's pages and the member's farm speak the language of whoever looks at them."""

import html
import re
import tomllib
from pathlib import Path

import httpx
import pytest

import pipeline.desk
from pipeline.desk.spoken import SPEAK, page_words
from pipeline.intake.names import LANGUAGES
from tests.checks.test_words import places
from tests.desk.conftest import Desk

HERE = Path(pipeline.desk.__file__).parent
FILES = sorted(path.stem for path in (HERE / "words").glob("*.toml"))
# Which file has the words of a template.
OF_TEMPLATE = {
    "sheets": "/sheets",
    "sent": "/sent/",
    "sheet": "/sheet/",
    "changes": "/sheet/",
    "type": "/type",
    "type_kinds": "/type",
    "awaited": "/awaited",
    "figures": "/my/farm",
    "sign_in": "/sign-in",
    "password": "/password",
    "codes": "/codes",
    "questions": "/questions",
    "base": "",
}


@pytest.mark.parametrize("name", FILES)
def test_every_page_says_all_in_every_language(name: str) -> None:
    found = tomllib.loads((HERE / f"words/{name}.toml").read_text("utf-8"))
    assert set(found) == set(LANGUAGES)
    for language, words in found.items():
        assert set(words) == set(found["en"]), language
        # A template would find the dict's own attribute instead.
        assert not [key for key in words if hasattr(words, key)]
        for key, said in words.items():
            assert said.strip(), (language, key)
            assert places(said) == places(found["en"][key]), (language, key)


@pytest.mark.parametrize("template", OF_TEMPLATE)
def test_templates_name_words_that_there_are(template: str) -> None:
    text = (HERE / f"templates/{template}.html.j2").read_text("utf-8")
    words = page_words(OF_TEMPLATE[template], "en")
    named = {*re.findall(r"\bp\.([a-z_]+)", text), *re.findall(r'say\(p, "([a-z_]+)"', text)}
    assert named and named <= set(words)


def test_every_file_of_words_is_some_pages() -> None:
    assert set(FILES) == {"base", "member", *(name for own in SPEAK.values() for name in own)}


def looked(client: httpx.Client, address: str, wanted: str) -> str:
    answer = client.get(address, headers={"accept-language": wanted})
    assert answer.status_code == 200, address
    return answer.text


def english_left(text: str, address: str, language: str) -> list[str]:
    """Return the words of a page that another language says otherwise and that stand in it."""
    own, english = page_words(address, language), page_words(address, "en")
    plain = re.sub(r"<[^>]*>", "\n", text)
    return [
        said
        for key, said in english.items()
        if len(said) > 9 and "{" not in said and said != own[key]
        if re.search(rf"(?<!\w){re.escape(said)}(?!\w)", plain)
    ]


@pytest.mark.parametrize("language", [one for one in LANGUAGES if one != "en"])
def test_a_clerks_pages_speak_the_browsers_language(desk: Desk, language: str) -> None:
    wanted = f"{language}-XX,{language};q=0.9,en;q=0.5"
    one = desk.office.desk.sight().generation()
    assert one is not None
    weighed = [no for no, sheet in one.sheets.items() if sheet["kind"] == "weighings"]
    with desk.client("clerk") as client:
        for address in (
            "/sheets",
            f"/sheet/{min(weighed)}",
            "/type",
            "/type/weighings",
            "/awaited",
            "/codes?find=asha",
            "/questions",
            "/password",
        ):
            text = looked(client, address, wanted)
            assert f'<html lang="{language}">' in text
            assert english_left(text, address, language) == []
            assert page_words(address, language)["out"] in text
    # A page that does not speak it yet is English as a whole.
    with desk.client("manager") as client:
        assert '<html lang="en">' in looked(client, "/queue", wanted)


def test_the_language_of_a_person_goes_before_the_browsers(desk: Desk) -> None:
    with desk.client("clerk") as client:
        assert '<html lang="en">' in looked(client, "/sheets", "de, ja")
        assert '<html lang="pt">' in looked(client, "/sheets", "de, pt-BR")
        settings = desk.office.desk.sight().settings
        clerk = settings.person("Lio Tessan")
        assert clerk is not None
        object.__setattr__(clerk, "language", "sw")
        try:
            assert '<html lang="sw">' in looked(client, "/sheets", "fr")
        finally:
            object.__setattr__(clerk, "language", "")


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_is_wrong_with_a_typed_paper_is_said_in_the_language(
    desk: Desk, language: str
) -> None:
    with desk.client("clerk") as client:
        page = looked(client, "/type/weighings", language)
        found = re.search(r'name="token" value="([^"]+)"', page)
        assert found
        answer = client.post(
            "/type/weighings",
            files={"token": (None, found[1]), "count": (None, "2"), "c-member_no": (None, "1001")},
            headers={"accept-language": language},
        )
    assert answer.status_code == 422
    said = page_words("/type", language)["differs"].replace("{0}", "2").replace("{1}", "1")
    assert said in answer.text


@pytest.mark.parametrize("language", [one for one in LANGUAGES if one != "en"])
def test_a_members_farm_and_why_speak_the_telephones_language(desk: Desk, language: str) -> None:
    with desk.client("member") as client:
        text = looked(client, "/my/farm", language)
        assert f'<html lang="{language}">' in text
        assert english_left(text, "/my/farm", language) == []
        codes = re.findall(r'href="(/my/why/[^"]+)"', text)
        assert codes
        for address in codes:
            assert f'<html lang="{language}">' in looked(client, address, language)


@pytest.mark.parametrize("language", LANGUAGES)
def test_who_cannot_get_in_is_told_in_their_language(desk: Desk, language: str) -> None:
    words = page_words("/sign-in", language)
    for address, said, key in (
        ("/sign-in", {"name": f"Nobody {language}", "password": "no such word"}, "said_sign_in"),
        ("/my/code", {"code": f"XXXX-{language}"}, "said_wrong_code"),
    ):
        with desk.client() as client:
            page = looked(client, address, language)
            found = re.search(r'name="token" value="([^"]+)"', page)
            assert found
            answer = client.post(
                address, data={"token": found[1]} | said, headers={"accept-language": language}
            )
        assert answer.status_code == 401
        # Too many wrong tries from one address are told, too, and in the same language.
        assert any(
            html.escape(words[one], quote=True).replace("&#x27;", "&#39;") in answer.text
            for one in (key, "said_tries")
        )
