"""The fast and the careful reader: the same rows, numbered as a spreadsheet shows them."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.intake.found import BROKEN
from pipeline.intake.limits import DEFAULT
from pipeline.intake.read import Cells, open_parts, part_cells

HEADINGS = ["Payment", "Date", "Member", "Amount", "Method"]
WORDS = [
    "",
    "",
    " ",
    "P-1",
    "2026-05-04",
    "12.5",
    "1,250",
    "Total",
    "Payment",
    "Felé Tarlé",
    "=1+1",
]
LETTERS = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), max_size=6)
CELL = st.one_of(st.sampled_from(WORDS), LETTERS).map(
    lambda t: t.replace(",", ".").replace('"', "")
)


def read(text: str | bytes, *, careful_only: bool = False) -> Cells:
    """Read one sheet given as text or bytes."""
    content = text.encode() if isinstance(text, str) else text
    return part_cells(open_parts(content, DEFAULT)[0], careful_only=careful_only)


def codes(cells: Cells) -> list[tuple[str, int]]:
    return [(note.code, note.row_no) for note in cells.notes]


@settings(max_examples=150, deadline=None)
@given(
    rows=st.lists(st.lists(CELL, min_size=0, max_size=7), max_size=12),
    titles=st.lists(st.sampled_from(["", "Velunda Ridge", "Week 14,Kessim", " "]), max_size=3),
    end=st.sampled_from(["\n", "\r\n"]),
    last=st.booleans(),
)
def test_both_readers_give_the_same(
    rows: list[list[str]], titles: list[str], end: str, last: bool
) -> None:
    lines = [*titles, ",".join(HEADINGS), *(",".join(row) for row in rows)]
    text = end.join(lines) + (end if last else "")
    fast, careful = read(text), read(text, careful_only=True)
    assert fast.frame.equals(careful.frame)
    assert (fast.headings, fast.header_row, fast.titles, fast.notes) == (
        careful.headings,
        careful.header_row,
        careful.titles,
        careful.notes,
    )


# How a cell may be written with quotation marks; the last ones are not sound, or span two lines.
QUOTED = st.sampled_from(
    ['"a"', '""', '"a,b"', '"a ""b"""', '""""', '"é"', '" "', "a", "", "12.5", "Total"]
)
UNSOUND = st.sampled_from(['a"b', '"a" ', '"a', 'a""', '"a"b"', '"a\nb"', '""a', '" ""', "\r"])


@settings(max_examples=300, deadline=None)
@given(
    rows=st.lists(st.lists(QUOTED, min_size=0, max_size=6), max_size=8),
    odd=st.lists(UNSOUND, max_size=1),
    end=st.sampled_from(["\n", "\r\n"]),
    last=st.booleans(),
)
def test_both_readers_give_the_same_of_quoted_cells(
    rows: list[list[str]], odd: list[str], end: str, last: bool
) -> None:
    lines = [",".join(HEADINGS), *(",".join(row) for row in rows), *odd]
    text = end.join(lines) + (end if last else "")
    fast, careful = read(text), read(text, careful_only=True)
    assert fast.frame.equals(careful.frame)
    assert fast.notes == careful.notes


def test_sound_quotation_marks_need_no_careful_reader() -> None:
    """Without this, to read all of it carefully would pass for the same."""
    head = ",".join(HEADINGS)
    sound = read('"Payment",Date,Member,Amount,Method\r\n"P-1",a,"b, c","1 ""x""",\r\n')
    assert (sound.reader, sound.frame.row(0)) == (
        "fast",
        (2, "P-1", "a", "b, c", '1 "x"', None, None),
    )
    for unsound in ('P"1"', '"P-1', '"P-1" ', '"P\n1"'):
        assert read(f"{head}\n{unsound},a,b,1,c\n").reader == "careful"


@settings(max_examples=100, deadline=None)
@given(rows=st.lists(st.lists(CELL, min_size=5, max_size=5), min_size=1, max_size=8))
def test_no_filled_row_is_lost(rows: list[list[str]]) -> None:
    text = "\n".join([",".join(HEADINGS), *(",".join(row) for row in rows)])
    cells = read(text)
    aside = {row_no for code, row_no in codes(cells) if code.startswith(("totals", "repeated"))}
    filled = {n for n, row in enumerate(rows, start=2) if any(cell.strip() for cell in row)}
    assert set(cells.frame["row_no"]) == filled - aside


@settings(max_examples=150, deadline=None)
@given(content=st.binary(max_size=400))
def test_no_bytes_crash_the_readers(content: bytes) -> None:
    from pipeline.intake.found import NotRead

    for part in open_parts(content, DEFAULT):
        try:
            part_cells(part)
        except NotRead as problem:
            assert str(problem).endswith(".")


def test_row_numbers_are_those_of_a_spreadsheet() -> None:
    rows = 'P-1,"2026-05-04\nMonday",1041,5\n\nP-2,2026-05-05,1042,6\n'
    text = f"\n\nPayment,Date,Member,Amount\n\n{rows}"
    cells = read(text)
    assert cells.header_row == 3
    assert cells.frame["row_no"].to_list() == [5, 7]


def test_line_ends_may_be_mixed() -> None:
    cells = read("Payment,Date,Member,Amount\rP-1,a,b,1\r\nP-2,c,d,2\nP-3,e,f,3")
    assert cells.frame["row_no"].to_list() == [2, 3, 4]
    assert cells.frame["c3"].to_list() == ["1", "2", "3"]


def test_any_delimiter_is_found_by_its_headings() -> None:
    for delimiter in (",", ";", "\t", "|", "^", "~"):
        line = delimiter.join(["Payment", "Date", "Member", "Amount"])
        cells = read(f"Payments, all of them; by week\n{line}\n" + delimiter.join("abcd"))
        assert cells.headings == ("Payment", "Date", "Member", "Amount")
        assert cells.header_row == 2


def test_a_first_line_may_say_the_delimiter() -> None:
    cells = read("sep=;\nPayment;Date;Member;Amount\nP-1;2026-05-04;1041;12,5\n")
    assert (cells.header_row, cells.frame["c3"].to_list()) == (2, ["12,5"])


def test_a_delimiter_of_more_than_one_byte_is_read_carefully() -> None:
    cells = read("sep=»\nPayment»Date»Member»Amount\nP-1»2026-05-04»1041»12,5\n")
    assert (cells.reader, cells.frame["c3"].to_list()) == ("careful", ["12,5"])


def test_a_row_longer_than_its_headings_keeps_what_stands_beyond() -> None:
    cells = read("Payment,Date,Member,Amount,,\nP-1,a,b,1,,x\nP-2,a,b,1,y,z,w\nP-3,a,b,2,,\n")
    assert cells.headings == ("Payment", "Date", "Member", "Amount")
    assert cells.frame["beyond"].to_list() == ["x", "y | z | w", None]


def test_a_quote_that_does_not_close_loses_no_other_row() -> None:
    cells = read(
        'Payment,Date,Member,Amount\nP-1,a,b,1\nP-2,"a,b,2\nP-3,"a ""x""",b,3\nP-4,a,b,4\n'
    )
    assert cells.frame["row_no"].to_list() == [2, 3, 4, 5]
    assert cells.frame["c1"].to_list() == ["a", '"a', 'a "x"', "a"]
    # The broken row carries its broken cell and its whole text, so that it is seen as typed.
    told = f'{BROKEN}"a{BROKEN}P-2,"a,b,2'
    assert cells.frame["beyond"].to_list() == [None, told, None, None]
    assert codes(cells) == [("broken-quotes", 3)]


@pytest.mark.parametrize("last", ['P-4,a",b,4', 'P-4",a,b,4', 'P-4,a,b",4'])
def test_a_quote_that_closes_rows_further_down_takes_no_row_in(last: str) -> None:
    """Where it closes in the same column, the three would be one row that looks sound."""
    cells = read(
        f'Payment,Date,Member,Amount\nP-1,a,b,1\nP-2,"a,b,2\nP-3,a,b,3\n{last}\nP-5,a,b,5\n'
    )
    assert cells.frame["row_no"].to_list() == [2, 3, 4, 5, 6]
    assert cells.frame["c3"].to_list()[2:] == ["3", "4", "5"]
    assert codes(cells) == [("broken-quotes", 3)]
    told = f'{BROKEN}"a{BROKEN}P-2,"a,b,2'
    assert cells.frame["beyond"].to_list() == [None, told, None, None, None]


def test_a_note_of_several_lines_with_commas_stays_one_cell() -> None:
    note = "rained, late,\n\nthen dry"
    cells = read(f'Payment,Date,Member,Amount\nP-1,a,b,"{note}"\nP-2,"{note}",b,2\n')
    assert cells.frame["row_no"].to_list() == [2, 3]
    assert cells.frame["c3"].to_list() == [note, "2"]
    assert cells.notes == ()


def test_repeated_headings_and_blank_rows_are_passed_over() -> None:
    again = "\ufeffpayment,DATE,Member , Amount"
    text = f"Payment,Date,Member,Amount\nP-1,a,b,1\n{again}\n , ,,\nP-2,a,b,2\n"
    cells = read(text)
    assert cells.frame["row_no"].to_list() == [2, 5]
    assert codes(cells) == [("repeated-header", 3)]


def test_headings_with_invisible_characters_are_known() -> None:
    cells = read(
        "Weekly list\nPay\u200bment,Date\u00a0,\u202aMember\u202c,Amount\nP\u200b-1,a,b,1\n"
    )
    assert cells.header_row == 2
    assert cells.frame["c0"].to_list() == ["P\u200b-1"]


def test_a_column_without_a_heading_is_told() -> None:
    cells = read("Payment,Date,,Member,Amount\nP-1,a,,b,1\nP-2,a,why,b,1\n")
    assert codes(cells) == [("no-heading", 3)]


def test_a_cell_longer_than_the_limit_is_cut_and_told() -> None:
    part = open_parts(f"Payment,Date,Member,Amount\nP-1,{'x' * 1500},b,1\n".encode(), DEFAULT)[0]
    cells = part_cells(part, replace(DEFAULT, cell_letters=1000))
    assert cells.frame["c1"][0] == "x" * 1000 + "…"
    (note,) = cells.notes
    assert "limit: 1000" in note.sentence and "cell_letters" in note.sentence
