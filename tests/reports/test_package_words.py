"""A season's tables in the book's first language: what people read is, names of columns are not."""

import datetime as dt
import json
import re
from dataclasses import replace

import fastexcel
import pytest

from pipeline.intake.names import LANGUAGES
from reports.package import write_package
from reports.package_tables import tables
from reports.workbook import worksheet_name, write_workbook

OTHERS = [language for language in LANGUAGES if language != "en"]
# What the format forbids in a worksheet's name: ECMA-376 and the library's own check, from memory.
FORBIDDEN = re.compile(r"[\[\]:*?/\\]|^'|'$")


def told(language):
    return {table.name: table for table in tables(personal=True, language=language)}


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_table_and_column_has_words_and_no_heading_twice(language):
    for name, table in told(language).items():
        assert table.title.strip() and table.about.strip(), name
        titles = [field["title"] for field in table.columns]
        assert all(title.strip() for title in titles), name
        assert len(set(titles)) == len(titles), (name, sorted(titles))


@pytest.mark.parametrize("language", OTHERS)
def test_words_are_translated_and_machine_names_stay(language):
    for name, english in told("en").items():
        table = told(language)[name]
        assert table.title != english.title and table.about != english.about, name
        assert table.query == english.query
        fields = [{**field, "title": ""} for field in table.columns]
        assert fields == [{**field, "title": ""} for field in english.columns]


@pytest.mark.parametrize("language", LANGUAGES)
def test_worksheets_have_names_that_the_format_takes(language):
    names: list[str] = []
    for table in told(language).values():
        names.append(worksheet_name(table.title, names))
    assert len({name.lower() for name in names}) == len(names)
    assert not [name for name in names if len(name) > 31 or FORBIDDEN.search(name)]


def test_titles_alike_in_the_first_letters_get_names_unlike():
    first = worksheet_name("Mistari ya benki, pesa za simu na kitabu", [])
    second = worksheet_name("mistari ya benki, pesa za simu na daftari", [first])
    assert first == "Mistari ya benki, pesa za simu"
    assert second.lower() != first.lower() and second.endswith(" 2") and len(second) <= 31


@pytest.mark.parametrize("language", OTHERS)
def test_a_book_in_another_language_writes_its_tables_in_it(
    small_season, facts, language, tmp_path
):
    here = replace(facts, languages=(language, "en"))
    write_package(small_season, here, tmp_path, made_up_to="2026-10-12", personal=False)
    package = json.loads((tmp_path / "datapackage.json").read_text("utf-8"))
    titles = {r["name"]: r["title"] for r in package["resources"]}
    balance = {"fr": "Solde", "es": "Saldo", "pt": "Saldo", "sw": "Salio"}[language]
    assert titles["members-money"] == told(language)["members_money"].title
    assert "Made up to" not in package["description"] and "USD" in package["description"]
    (money,) = [r for r in package["resources"] if r["name"] == "members-money"]
    assert {f["name"]: f["title"] for f in money["schema"]["fields"]}["balance"] == balance
    assert (tmp_path / "data" / "members_money.csv").read_text("utf-8").startswith('"member_no"')

    path = tmp_path / "season.xlsx"
    write_workbook(small_season, here, path, made_up_to=dt.date(2026, 10, 12), personal=False)
    book = fastexcel.read_excel(path)
    assert "About" not in book.sheet_names and titles["members-money"] in book.sheet_names
    sheet = book.load_sheet(titles["members-money"]).to_polars()
    assert f"{balance}, USD" in sheet.columns
