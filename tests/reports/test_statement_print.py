"""The statement as page and PDF: what the model says is there, hostile names are only text."""

import datetime as dt
import html
import io
import re
from html.parser import HTMLParser

import outloud
import pdfplumber
import pikepdf
import pytest

from reports import render
from reports.statement import dated, statement_models
from reports.statement_paper import statement_pdf

DAY = dt.date(2026, 10, 12)
# Positions of the little drawing are no figures, the ISO day is for the file's own date, and the
# sums with their currency are for text messages and for reading aloud.
NOT_PRINTED = {
    "strip",
    "iso_day",
    "labels",
    "lang",
    "no_yield",
    "sums",
    "signed",
    "qr",
    "until",
    "whom",
}
# The paper has a drawing instead of the code, the page a word on what it leaves out.
ONLY_PAGE, ONLY_PAPER = {"earlier", "signature"}, {"lines_before"}


def printed(value, but, key=""):
    if key in NOT_PRINTED | but:
        return
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from printed(inner, but, name)
    elif isinstance(value, list):
        for inner in value:
            yield from printed(inner, but)
    elif value:
        yield value


def squeezed(text: str) -> str:
    """Without blanks of any kind: lines break anywhere, and long words hold unseen spaces."""
    return re.sub(r"[\s\u200b]+", "", text)


def pages_of(data: bytes) -> list[dict]:
    # In the order of writing, so that a cell of two lines stays together.
    with pdfplumber.open(io.BytesIO(data)) as document:
        return [
            {
                "text": "".join(c["text"] for c in page.chars),
                "right": page.width - max(c["x1"] for c in page.chars),
                "below": page.height - max(c["bottom"] for c in page.chars),
            }
            for page in document.pages
        ]


class Elements(HTMLParser):
    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)


@pytest.fixture(scope="module")
def documents(models):
    return {
        no: (
            render.page("statement", model).decode(),
            statement_pdf(model, day=DAY, subject=no),
        )
        for no, model in models.items()
    }


@pytest.fixture(scope="module")
def pages(documents):
    """What is read back from each PDF, page by page."""
    return {no: pages_of(pdf) for no, (_, pdf) in documents.items()}


def text_of(pages):
    return squeezed("".join(page["text"] for page in pages))


def shown(model, but):
    """All strings the model prints, the statement's empty-case sentences left out."""
    coffee = dict(model["coffee"])
    if coffee["rows"]:
        del coffee["none"]
    else:
        coffee = {"none": coffee["none"]}
    waiting = model["waiting"] if model["waiting"]["rows"] else {}
    return set(printed(model | {"coffee": coffee, "waiting": waiting}, but))


def test_every_string_of_the_model_is_in_the_pdf(models, pages):
    for no, model in models.items():
        text = text_of(pages[no])
        assert [s for s in shown(model, ONLY_PAGE) if squeezed(s) not in text] == [], no


def test_every_string_of_the_model_is_on_the_page(models, documents):
    for no, model in models.items():
        plain = html.unescape(re.sub(r"<[^>]*>", "", documents[no][0].split("</style>")[1]))
        head = documents[no][0].split("</title>")[0]
        text = squeezed(plain + head)
        assert [s for s in shown(model, ONLY_PAPER) if squeezed(s) not in text] == [], no


def test_a_checker_that_is_not_ours_finds_nothing_against_pdf_ua(documents, tmp_path):
    """ISO 14289-1 (PDF/UA-1) by the rules of the Matterhorn protocol, as `outloud` runs them."""
    for no in ("1001", "1006", "1008"):
        path = tmp_path / f"{no}.pdf"
        path.write_bytes(documents[no][1])
        found = outloud.check(str(path), layers=["conformance"])
        wrong = [f"{one.rule}: {one.message}" for one in found.findings if one.severity == "error"]
        assert (found.error, wrong) == (None, [])


def test_the_model_leads_to_the_same_bytes_each_time(models, documents):
    for no in ("1001", "1008"):
        assert statement_pdf(models[no], day=DAY, subject=no) == documents[no][1]
        assert render.page("statement", models[no]).decode() == documents[no][0]


def test_pages_are_small_and_hold_neither_script_nor_foreign_address(documents):
    for page, _ in documents.values():
        assert len(page.encode()) < 30_000
        assert Elements(page).tags.isdisjoint({"script", "img", "link", "iframe", "form"})
        assert "http" not in page


def test_hostile_names_are_printed_as_text(documents, pages, hard_names):
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in documents["1003"][0]
    for no, name in hard_names.items():
        assert squeezed(name) in text_of(pages[no])


def test_the_first_page_says_it_all_and_the_lines_stand_behind(models, pages):
    for no, model in models.items():
        first, second = (squeezed(page["text"]) for page in pages[no][:2])
        assert squeezed(model["issue"]["questions"]) in first
        assert squeezed(model["labels"]["lines"]) not in first, no
        assert squeezed(model["labels"]["lines"]) in second, no


def test_the_pdf_says_it_is_an_archive_and_accessible_form(documents):
    with pikepdf.open(io.BytesIO(documents["1001"][1])) as document:
        with document.open_metadata() as meta:
            assert (meta["pdfaid:part"], meta["pdfaid:conformance"]) == ("2", "A")
            assert meta["pdfuaid:part"] == "1"
        assert document.Root.MarkInfo.Marked
        assert document.Root.Lang == "en"
        fonts = {
            str(font.BaseFont) for page in document.pages for font in page.Resources.Font.values()
        }
    assert fonts and all("NotoSans" in font for font in fonts)


def test_no_text_runs_out_of_the_paper(pages):
    for no, printed_pages in pages.items():
        for page in printed_pages:
            assert page["right"] >= 48, no
            assert page["below"] >= 12, no


def test_every_page_bears_its_own_number(pages):
    for printed_pages in pages.values():
        last = len(printed_pages)
        for number, page in enumerate(printed_pages, start=1):
            assert page["text"].endswith(f"{number} / {last}")


def test_three_figures_and_what_is_owed_are_on_the_first_page(models, pages):
    for no, model in models.items():
        first = squeezed(pages[no][0]["text"])
        for figure in model["figures"]:
            assert squeezed(figure["value"]) in first


def test_a_letter_no_font_can_show_is_an_error_that_names_the_member(models):
    model = models["1001"] | {"member": models["1001"]["member"] | {"name": "Asha 日"}}
    with pytest.raises(render.UnprintableText, match=r"member 1001, Asha 日: .*日"):
        statement_pdf(model, day=DAY, subject="member 1001, Asha 日")


@pytest.mark.long
def test_four_hundred_deliveries_and_a_debt_are_paged_well(maker, facts, say_flag):
    maker.member("7", "Asha Doreme", "Lower Tarrin")
    for n in range(400):
        form = "fresh_cherry" if n % 5 else "parchment"
        maker.weighing("7", DAY - dt.timedelta(200 - n // 2), form, f"{20 + n % 60}.{n % 10}")
    for n in range(70):
        maker.pay("7", DAY - dt.timedelta(70 - n), 40_000 + n)
    maker.finish()
    (model,) = statement_models(maker.con, facts, explain=say_flag)
    model = dated(model, facts, day=DAY, version=1)
    assert model["figures"][2]["label"] == "You have been overpaid"
    assert len(render.page("statement", model)) < 30_000
    read = pages_of(statement_pdf(model, day=DAY, subject="7"))
    text = text_of(read)
    # Every line in the columns' order; the grade, alike in all, is told in the titles.
    for line in model["lines_before"] + model["lines"]:
        told = [line[key] for key in ("day", "receipt", "kg", "moisture", "price", "value")]
        assert squeezed("".join([*told, line["deducted"], line["at"]])) in text
    for total in model["coffee"]["rows"]:
        assert squeezed(f"{total['label']}, Grade 1 {total['code']}") in text
        assert squeezed(f"Together{total['kg']}{total['value']}") in text
    # The headings stand on every page of the tables, and a sum is on one with lines.
    tables = [squeezed(page["text"]) for page in read if "DayReceipt" in squeezed(page["text"])]
    assert len(tables) >= 5
    assert squeezed(model["coffee"]["rows"][-1]["value"]) in tables[-1] and "K03/" in tables[-1]
    assert all(page["below"] >= 12 and page["right"] >= 48 for page in read)
