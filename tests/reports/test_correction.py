"""Correction sheets: the clerk's own cells come back as text, whatever they hold."""

import zipfile

import fastexcel
import pytest

from reports.correction import SentBack, quoted, write_correction

HEADINGS = ["Member", "Kg", "Remark"]
ROWS = [
    SentBack(row_no=7, cells=["1042", "61,2", '=HYPERLINK("x")'], wrong="Two points.", todo="Fix."),
    SentBack(row_no=9, cells=["1043", None], wrong="+no weight", todo="Weigh again."),
    SentBack(row_no=11, cells=["1044", "60.0", "a", "beyond"], wrong="Too long.", todo="Move."),
]


def test_xlsx_holds_the_rows_as_text_and_no_formula(tmp_path):
    path = tmp_path / "back.xlsx"
    write_correction(path, "kessim-week-14.csv", HEADINGS, ROWS)
    with zipfile.ZipFile(path) as book:
        sheet = book.read("xl/worksheets/sheet1.xml").decode()
    assert "<f>" not in sheet and "<f " not in sheet and "hyperlink" not in sheet
    read = fastexcel.read_excel(path).load_sheet(0, header_row=None, dtypes="string")
    rows = [list(row) for row in read.to_polars().rows()]
    assert rows[0] == [*HEADINGS, "Sheet", "Row", "What is wrong", "What to do"]
    assert rows[1][:3] == ["1042", "61,2", '=HYPERLINK("x")']
    assert rows[1][3:] == ["kessim-week-14.csv", "7", "Two points.", "Fix."]
    assert rows[2][2:6] == ["", "kessim-week-14.csv", "9", "+no weight"]
    assert rows[3][2:5] == ["a | beyond", "kessim-week-14.csv", "11"]


def test_the_same_rows_give_the_same_bytes(tmp_path):
    for name in ("one.xlsx", "two.xlsx"):
        write_correction(tmp_path / name, "kessim-week-14.csv", HEADINGS, ROWS)
    assert (tmp_path / "one.xlsx").read_bytes() == (tmp_path / "two.xlsx").read_bytes()


@pytest.mark.parametrize("cell", ["-1.5", "+3", "-1,234.50", "12", "", "Ŋala", "3 = 3", "-2%"])
def test_numbers_and_plain_text_stay_as_they_are(cell):
    assert quoted(cell) == cell


@pytest.mark.parametrize("cell", ["=1", "+a", "-", "-1+cmd", "@x", "\t5", "\r5", "-inf", "+1e5"])
def test_leads_of_formulas_get_a_quote(cell):
    assert quoted(cell) == "'" + cell
