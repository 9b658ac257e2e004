"""Figures and words in a language: formats, and a catalogue put beside the English."""

import dataclasses
import datetime as dt
import io
from decimal import Decimal

import pytest
from babel.messages.catalog import Catalog
from babel.messages.pofile import write_po
from babel.numbers import format_decimal
from hypothesis import given
from hypothesis import strategies as st

from pipeline.intake.kinds import kinds
from pipeline.intake.names import LANGUAGES
from reports import words
from reports.figures import Figures
from reports.labels import column_title
from reports.statement import statement_models


def test_english_figures():
    figures = Figures("en", "USD", 2)
    assert figures.cash(123456) == "USD\u00a01,234.56"
    assert figures.money(-5) == "−0.05"
    assert figures.kg(Decimal("1240.000")) == "1,240.0"
    assert figures.kg(Decimal("0.125")) == "0.125"
    assert figures.price(Decimal("0.6200")) == "0.62"
    assert figures.price(Decimal("0.6225")) == "0.6225"
    assert figures.day(dt.date(2026, 5, 4)) == "4 May 2026"


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_column_that_may_be_amended_has_its_heading_in_each_language(language):
    for kind in kinds().values():
        for column in kind.columns:
            title = column_title(kind.name, column.stored, language)
            assert title == column.spellings[language][0]
    assert column_title("weighings", "moisture_pct", "en") == "Moisture %"
    assert column_title("weighings", "of another name", language) == "of another name"


@pytest.mark.parametrize(("decimals", "shown"), [(0, "123,456"), (2, "1,234.56"), (3, "123.456")])
def test_money_has_the_decimals_of_its_currency(decimals, shown):
    assert Figures("en", "XXX", decimals).money(123456) == shown


def test_money_beyond_the_digits_of_a_float_is_exact():
    assert Figures("en", "USD", 2).money(9007199254740993) == "90,071,992,547,409.93"


@given(
    st.decimals(-(10**12), 10**12, places=6),
    st.integers(-(10**15), 10**15),
    st.sampled_from(["en", "fr", "sw", "es", "pt"]),
    st.sampled_from([0, 2, 3]),
)
def test_figures_are_those_of_babel(value, minor, language, decimals):
    """Unicode CLDR's signs and grouping, as Babel, which carries them, formats numbers."""
    figures = Figures(language, "XXX", decimals)
    money = "#,##0." + "0" * decimals if decimals else "#,##0"
    price = "#,##0." + "0" * decimals + "#" * (4 - decimals)
    for made, number, pattern in (
        (figures.kg(value), value, "#,##0.0##"),
        (figures.percent(value), value, "#,##0.0#"),
        (figures.gbe(value), value, "#,##0.000"),
        (figures.factor(value), value, "#,##0.######"),
        (figures.days(value), value, "#,##0.#"),
        (figures.price(value), value, price),
        (figures.count(minor), minor, "#,##0"),
        (figures.money(minor), Decimal(minor).scaleb(-decimals), money),
    ):
        theirs = format_decimal(number, format=pattern, locale=figures.locale)
        assert made == theirs.replace("-", "−")


@pytest.fixture
def french(tmp_path, monkeypatch):
    catalogue = Catalog(locale="fr")
    catalogue.add("Coffee statement", "Décompte de café")
    made = io.BytesIO()
    write_po(made, catalogue)
    folder = tmp_path / "fr" / "LC_MESSAGES"
    folder.mkdir(parents=True)
    (folder / "reports.po").write_bytes(made.getvalue())
    monkeypatch.setattr(words, "LOCALE_DIR", tmp_path)
    words.catalogue.cache_clear()
    yield
    words.catalogue.cache_clear()


def test_a_member_is_addressed_in_an_offered_language(french, maker, facts, say_flag):
    maker.member("7", "Asha Doreme", "Lower Tarrin")
    maker.weighing("7", dt.date(2026, 5, 4), "fresh_cherry", "2000.5")
    maker.con.execute("update filled_members set language = 'fr'")
    maker.finish()
    offered = dataclasses.replace(facts, languages=("en", "fr"))
    (model,) = statement_models(maker.con, offered, explain=say_flag)
    assert (model["lang"], model["title"]) == ("fr", "Décompte de café")
    assert model["coffee"]["rows"][0]["kg"] == "2\u202f000,5"
    (model,) = statement_models(maker.con, facts, explain=say_flag)
    assert (model["lang"], model["title"]) == ("en", "Coffee statement")


def test_a_language_without_a_catalogue_is_not_spoken():
    assert words.spoken("nl", ("en", "nl")) == "en"
    assert words.spoken("sw", ("en", "sw")) == "sw"
    assert words.spoken("sw", ("en", "fr")) == "en"
    assert words.spoken(None, ("en",)) == "en"


def test_a_deduction_has_its_name_in_the_language_where_the_book_gives_one(maker, facts, say_flag):
    maker.member("7", "Asha Doreme", "Lower Tarrin")
    maker.weighing("7", dt.date(2026, 5, 4), "fresh_cherry", "60.0")
    maker.finish()
    levy, transport = facts.deductions
    here = dataclasses.replace(
        facts,
        languages=("fr",),
        deductions=(dataclasses.replace(levy, names={"fr": "Prélèvement"}),),
        undeclared={"transport": dataclasses.replace(transport, name="Charges")},
    )
    (model,) = statement_models(maker.con, here, explain=say_flag)
    labels = {line["code"].rpartition("/")[2]: line["label"] for line in model["money"]}
    assert labels["levy"] == "Prélèvement"
    assert labels["transport"] == words.catalogue("fr").gettext("Charges") != ""
