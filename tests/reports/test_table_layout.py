"""What is reckoned before a statement is laid out: widths of letters, columns, heights of rows."""

import datetime as dt
import io
import re

import pdfplumber
import pytest

from reports.letters import heading, width
from reports.line_layout import deliveries, payments
from reports.statement_paper import statement_pdf
from reports.table_layout import Look, filled, heights, spread, texts

LOOK = Look(width=200, size=10, head=8, gap=5, inset=3)


def lines_of(model, count, **but):
    line = model["lines"][0] | but
    return model | {"lines": [line | {"at": f"1:{n}"} for n in range(count)]}


def test_letters_are_as_wide_as_a_reader_of_the_pdf_finds_them(models):
    """pdfplumber reads the widths that the drawn file declares, each in regular or in bold."""
    pdf = statement_pdf(models["1001"], day=dt.date(2026, 10, 12), subject="1001")
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        drawn = [c for page in document.pages for c in page.chars if len(c["text"]) == 1]
    assert len(drawn) > 1500
    for letter in drawn:
        em = (letter["x1"] - letter["x0"]) / letter["size"]
        either = (width(letter["text"]), width(letter["text"], bold=True))
        assert any(em == pytest.approx(one, abs=0.003) for one in either), letter["text"]


def test_a_heading_takes_two_lines_at_its_best_place():
    narrow, whole = heading("Paid to you")
    assert (narrow, whole) == (width("to you"), width("Paid to you"))
    assert heading("Left") == (width("Left"), width("Left"))


def test_columns_and_gaps_are_as_wide_as_the_table():
    columns = [texts("Day", ["4 May 2026"]), texts("kg", ["1,240.0", "9.1"]), texts("USD", ["3"])]
    points, gap = spread(LOOK, columns)
    assert sum(points) + 2 * gap == pytest.approx(200)
    points = filled(LOOK, columns)
    assert sum(points) + 2 * LOOK.gap == pytest.approx(200)
    assert points[1] == pytest.approx(width("1,240.0") * 10 * 1.01)


def test_a_row_that_fits_is_set_and_one_that_hangs_on_its_words_is_measured():
    columns = [texts("Day", ["May", "M" * 60, "May"]), texts("kg", ["1.0"] * 3)]
    head, *rows = heights(LOOK, columns, filled(LOOK, columns))
    assert head == pytest.approx(8 * 0.714 + 6.1, abs=0.01)
    assert rows == [pytest.approx(10 * 0.714 + 6.1, abs=0.01), 0, rows[0]]
    alike = [texts("Day", ["May"] * 3), texts("kg", ["1.0"] * 3)]
    assert len(heights(LOOK, alike, filled(LOOK, alike))) == 2


def test_deliveries_keep_their_columns_in_line_from_one_kind_to_the_next(models):
    made = deliveries(models["1008"])
    cherry, parchment = made["tables"]
    assert "Moisture %" not in cherry["heads"] and "Moisture %" in parchment["heads"]

    def rights(table):
        ends, at = {}, 0.0
        for head, wide in zip(table["heads"], table["columns"], strict=True):
            ends[head] = at + wide
            at += wide + made["gap"]
        return ends

    for head, end in rights(cherry).items():
        assert rights(parchment)[head] == pytest.approx(end, abs=0.1), head
    assert rights(parchment)["Sheet: row"] == pytest.approx(493.2, abs=0.2)
    # Grade 1 in all is told once, above them.
    assert cherry["title"] == "Arabica, fresh cherry, Grade 1" and "Grade" not in cherry["heads"]


def test_every_line_stands_in_one_table_and_each_adds_up_to_a_line_of_the_first_page(models):
    for model in models.values():
        made = deliveries(model)
        at = [
            cell
            for t in made["tables"]
            for cell in t["cells"][len(t["heads"]) - 1 :: len(t["heads"])]
        ]
        assert sorted(at) == sorted(line["at"] for line in model["lines"])
        for table, total in zip(made["tables"], model["coffee"]["rows"], strict=True):
            words = [text for text, _ in table["sum"] if text]
            assert words == ["Together", total["kg"], total["value"]]
            assert sum(span for _, span in table["sum"]) == len(table["heads"])


def of_two_kinds(model, counts, receipt="K03/17"):
    lines = []
    for kind, count in zip(("Arabica, fresh cherry", "Arabica, parchment"), counts, strict=True):
        like = next(line for line in model["lines"] if line["kind"] == kind)
        lines += [like | {"receipt": receipt, "at": "§"}] * count
    return model | {"lines_before": [], "lines": lines}


def tables_page_by_page(model, at="§", together="Together", head="Day"):
    """How each page of the lines reads: t a title, h headings, r a row, s a sum."""
    pdf = statement_pdf(model, day=dt.date(2026, 10, 12), subject="7")
    signs = f"(?P<t>Arabica,)|(?P<h>{head}Receipt)|(?P<r>{at})|(?P<s>{together})"
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        texts = ["".join(c["text"] for c in page.chars) for page in document.pages[1:]]
    return ["".join(str(m.lastgroup) for m in re.finditer(signs, text)) for text in texts]


@pytest.mark.parametrize("receipt", ["K03/17", "K03 " * 5])
def test_two_lines_at_least_stand_under_their_headings_and_over_their_sum(models, receipt):
    """Common practice of typesetting (no widow, no orphan), over every place a page may end at."""
    parted = 0
    for count in range(26, 50) if len(receipt) < 9 else range(14, 26):
        pages = tables_page_by_page(of_two_kinds(models["1008"], (count, 15), receipt))
        rows = "".join(pages)
        assert rows.replace("h", "").count("r") == count + 15
        assert (rows.count("t"), rows.count("s")) == (2, 2)
        for page in pages:
            # Whole tables, or parts of two rows or more; a sum never without them.
            assert re.fullmatch(r"(?:t?hrr+s?)*", page), (count, pages)
            parted += page.startswith("h")
    assert parted > 2


def test_a_short_table_is_not_parted(models):
    for count in range(38, 50):
        pages = tables_page_by_page(of_two_kinds(models["1008"], (count, 4)))
        assert sum("thrrrrs" in page for page in pages) == 1, (count, pages)
    assert "thrs" in tables_page_by_page(of_two_kinds(models["1008"], (20, 1)))[0]


def test_very_long_figures_are_printed_smaller_and_none_beyond_the_margin(models):
    huge = "123,456,789,012,345,678,901.00"
    made = deliveries(lines_of(models["1008"], 3, value=huge, deducted=huge, price=huge))
    assert made["size"] < 8.5
    for table in made["tables"]:
        assert sum(table["columns"]) + made["gap"] * (len(table["columns"]) - 1) < 493.4


def test_payments_stand_side_by_side_and_say_once_how_all_were_paid(models):
    paid = models["1001"]["payments"][0]
    few = payments(models["1001"] | {"payments": [paid] * 15})
    assert (few["same"], few["heads"]) == ("cash", ["Day", "Payment", "USD"])
    assert [len(t["cells"]) // 3 for t in few["tables"]] == [8, 7]
    both = payments(models["1001"] | {"payments": [paid, paid | {"method": "bank"}]})
    assert (both["same"], len(both["heads"])) == ("", 4)
    many = payments(models["1001"] | {"payments": [paid] * 61})
    assert len(many["tables"]) == 1 and sum(many["columns"]) > 400
