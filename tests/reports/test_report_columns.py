"""Columns of a report on paper: names and codes have the room they need, in every language."""

import datetime as dt
import io
from dataclasses import replace

import pdfplumber
import pytest

from pipeline.intake.names import LANGUAGES
from reports import render
from reports.group import group_model
from reports.letters import heading, width
from reports.report_columns import CODE, GAP, WIDTH, fitted, on_lines
from reports.sections import coded, part, table

DAY = dt.date(2026, 10, 12)


@pytest.fixture(scope="module")
def reports(group_season, facts, gate):
    return {
        language: group_model(
            group_season, replace(facts, languages=(language,)), day=DAY, gate=gate
        )
        for language in LANGUAGES
    }


def tables_of(model):
    return [p["table"] for one in model["sections"] for p in one["parts"] if p["table"]]


def codes_of(shown):
    return [c["small"] for row in shown["rows"] for c in row if isinstance(c, dict) and c["code"]]


def test_words_on_so_many_lines():
    assert on_lines("Cost a kg", 1) == width("Cost a kg")
    assert on_lines("Cost a kg", 2) == pytest.approx(heading("Cost a kg")[0])
    assert on_lines("Cost a kg", 9) == width("Cost")
    assert on_lines("", 3) == 0


def test_every_table_is_as_wide_as_the_page_and_has_room_for_its_codes(reports):
    for language, model in reports.items():
        of_codes = 0
        for shown in tables_of(model):
            wide = shown["columns"]
            assert sum(wide) + GAP * (len(wide) - 1) == pytest.approx(WIDTH, abs=0.2), language
            for code in codes_of(shown):
                assert wide[0] >= CODE * width(code), (language, code)
                of_codes += 1
        assert of_codes >= 8, language


def test_no_code_goes_on_to_a_second_line_in_print(reports):
    """Swahili has the longest headings; what was drawn is read back by pdfplumber."""
    model = reports["sw"]
    data = render.pdf("group", model, day=DAY, subject="group report")
    with pdfplumber.open(io.BytesIO(data)) as document:
        letters = [
            (letter, round(c["bottom"], 1))
            for page in document.pages
            for c in page.chars
            for letter in c["text"].replace("\u200b", "")
        ]
    text = "".join(letter for letter, _ in letters)
    codes = [code for shown in tables_of(model) for code in codes_of(shown)]
    for code in codes:
        at = text.find(code)
        assert at >= 0, code
        assert len({line for _, line in letters[at : at + len(code)]}) == 1, code


def test_headings_give_way_to_names_and_names_that_are_too_long_give_way():
    heads = ["Village", *(f"Upper quarter of margin {n}" for n in range(8))]
    cells = ["1,365.22"] * 8
    short = fitted(heads, [[coded("Munta", "2026/group/margin/village/Munta"), *cells]], 1, [])
    assert short[0] >= CODE * width("2026/group/margin/village/Munta")
    assert min(short[1:]) >= 9 * width("1,365.22")
    long = fitted(heads, [["Aletheia" * 15, *cells]], 1, [])
    assert sum(long) + 8 * GAP == pytest.approx(WIDTH, abs=0.2)
    assert min(long) >= 9 * width("1,365.22")


def test_a_table_without_names_is_as_narrow_as_its_figures():
    assert fitted(["kg"], [["1.0"]], 0, []) == [pytest.approx(9 * width("1.0") * 1.01, abs=0.01)]


def test_the_last_rows_of_a_long_table_stay_together_with_its_sum(reports):
    """Common practice of typesetting: no row and no sum alone on a page."""
    (first,) = [one for one in reports["en"]["sections"] if one["key"] == "money"]
    ends = []
    for count in range(52, 66):
        long = part(table=table(["Village", "kg"], [["Munta", "§"]] * count, total=["Sum", "¶"]))
        model = reports["en"] | {"sections": [first | {"parts": [long], "says": []}]}
        data = render.pdf("group", model, day=DAY, subject="group report")
        with pdfplumber.open(io.BytesIO(data)) as document:
            text = "".join(c["text"] for c in document.pages[-1].chars)
        assert "¶" in text and text.count("§") >= 2, count
        ends.append(text.count("§"))
    assert 2 in ends
