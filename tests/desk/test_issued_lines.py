"""Lines of an issued statement: each can be asked about, and its figures are found again."""

from pipeline.desk.issued_lines import (
    language_of,
    lines_of,
    printed_value,
    same_figure,
    with_asking,
)
from pipeline.desk.spoken import member_words
from pipeline.explain.words import number_in
from pipeline.intake.names import LANGUAGES
from tests.checks.test_words import places

PAGE = """<!doctype html>
<html lang="fr">
<p>above
<main>
<dl>
<dt>Village<dd>Lower Tarrin
</dl>
<ul class="big">
<li>Valeur <b>1\u202f180,00 USD</b><small>prix</small><span class="c">2026/10019/value</span>
</ul>
<ul>
<li><b>Re\u00e7u K01/2, 61,2 kg.</b> L&#39;\u00e9cart<small>w.csv</small>
</ul>
<table>
<tr><th scope="col">Net kg<th scope="col">USD
<tr class="of"><td colspan="3">Arabica<span class="c">2026/10019/delivered/arabica/parchment</span>
<tr><td>180,0<td>144,000<td>180,00
<tr><td>Pay\u00e9<span class="c">2026/10019/paid</span><td>\u221210,00
<tr><td>4 mai<td>60,0<td>60,00
<tr class="s"><td colspan="3">A01/1: Arabica
<tr class="sum"><td>Total<td><td>180,00
</table>
</main>"""


def test_every_line_of_a_statement_has_words_and_those_without_a_code_a_link() -> None:
    found = lines_of(PAGE)
    assert [one.says for one in found] == [
        "Valeur 1 180,00 USD prix",
        "Re\u00e7u K01/2, 61,2 kg. L'\u00e9cart w.csv",
        "Arabica 180,0 144,000 180,00",
        "Pay\u00e9 \u221210,00",
        "4 mai 60,0 60,00 A01/1: Arabica",
        "Total 180,00",
    ]
    asked = with_asking(PAGE, "/my/ask", "Poser")
    assert asked.count("/my/ask?line=") == 3
    line = next(one for one in asked.split("\n") if "A01/1" in one)
    assert line.endswith('<a class="c" href="/my/ask?line=5">Poser</a>')
    assert lines_of(asked)[4].no == 5


def test_a_printed_figure_is_held_against_todays_at_its_own_decimals() -> None:
    assert language_of(PAGE) == "fr"
    label, value = printed_value(PAGE, "2026/10019/value", money=True)
    assert (label, value) == ("Valeur", "1\u202f180,00 USD")
    assert same_figure(value, "1,180.00", "fr") is True
    assert same_figure(value, "1,180.01", "fr") is False
    label, delivered = printed_value(PAGE, "2026/10019/delivered/arabica/parchment", money=False)
    assert (label, delivered) == ("Arabica", "180,0")
    assert same_figure(delivered, "180.049", "fr") is True
    assert same_figure(delivered, "180.050", "fr") is False
    assert same_figure(printed_value(PAGE, "2026/10019/paid", money=True)[1], "10.00", "fr")
    assert printed_value(PAGE, "2026/10019/balance", money=True) == ("", "")
    assert same_figure("not recorded", "10.00", "en") is None
    assert number_in("1,240.50", "fr") == "1\u202f240,50"
    assert number_in("not recorded", "fr") == "not recorded"


def test_members_pages_speak_every_language() -> None:
    english = member_words("en")
    for language in LANGUAGES:
        words = member_words(language)
        assert set(words) == set(english), language
        for name, said in words.items():
            assert places(said) == places(english[name]), (language, name)
