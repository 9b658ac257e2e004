"""Pages in a browser: nothing that axe finds, nothing wider than a small telephone."""

import datetime as dt
from dataclasses import replace

import pytest
from axe_playwright_python.sync_playwright import Axe

from pipeline.intake.names import LANGUAGES
from reports import render
from reports.group import group_model
from reports.statement import dated, statement_models

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def phone(chromium):
    page = chromium.new_page(viewport={"width": 360, "height": 740})
    yield page
    page.close()


def look(phone, folder, data):
    """What axe-core (WCAG 2.2 and its own rules) finds, and by how much the page is too wide."""
    path = folder / "page.html"
    path.write_bytes(data)
    phone.goto(path.as_uri())
    found = Axe().run(phone).response["violations"]
    wide = phone.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    return [(one["id"], one["nodes"][0]["html"][:200]) for one in found], max(wide, 0)


@pytest.mark.parametrize("no", ["1001", "1006"])
def test_a_statement_is_sound_on_a_telephone(phone, models, tmp_path, no):
    """All sections, and a name of 120 letters."""
    assert look(phone, tmp_path, render.page("statement", models[no])) == ([], 0)


BROKEN = """[...document.querySelectorAll('th')].flatMap(head =>
    [...head.textContent.matchAll(/\\S+/g)].filter(word => {
        const range = document.createRange();
        range.setStart(head.firstChild, word.index);
        range.setEnd(head.firstChild, word.index + word[0].length);
        return new Set([...range.getClientRects()].map(one => one.top)).size > 1;
    }).map(word => word[0]))"""


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_word_of_a_heading_is_broken_on_a_telephone(
    phone, small_season, facts, say_flag, tmp_path, language
):
    here = replace(facts, languages=(language,))
    (model,) = statement_models(small_season, here, explain=say_flag, members=["1003"])
    model = dated(model, here, day=dt.date(2026, 10, 12), version=1)
    assert len(model["apart"]["rows"]) == 2
    assert look(phone, tmp_path, render.page("statement", model)) == ([], 0)
    assert phone.evaluate("document.querySelectorAll('th').length") > 10
    assert phone.evaluate(BROKEN) == []


def test_the_group_report_is_sound_on_a_telephone(phone, group_season, facts, gate, tmp_path):
    model = group_model(group_season, facts, day=dt.date(2026, 10, 12), gate=gate)
    assert {"practice", "crop"} & {one["key"] for one in model["sections"]}
    assert look(phone, tmp_path, render.page("group", model)) == ([], 0)


def test_marks_that_turn_letters_about_are_not_printed(maker, facts, say_flag):
    """Unicode Standard Annex 9: embeddings, overrides and isolates, with which a name lies."""
    maker.member("7", "\u202eoreK ahsA\u202c \u2067x\u2069", "Lower \u202dTarrin")
    maker.finish()
    (model,) = statement_models(maker.con, facts, explain=say_flag)
    assert model["member"]["name"] == "oreK ahsA x"
    assert model["member"]["village"] == "Lower Tarrin"
