"""Totals rows: recognised, checked, never counted; rows like any other stay."""

import pytest

from pipeline.intake.found import Cells
from pipeline.intake.limits import DEFAULT
from pipeline.intake.read import open_parts, part_cells

HEAD = "Payment,Date,Member,Amount,Method,Cashier\n"
ROWS = "P-1,2026-05-04,1041,10.50,cash,Lio\nP-2,2026-05-04,1042,20.25,bank,Lio\n"


def read(text: str) -> Cells:
    return part_cells(open_parts(text.encode(), DEFAULT)[0])


def told(cells: Cells) -> list[str]:
    return [note.code for note in cells.notes]


@pytest.mark.parametrize(
    "word", ["Total", "TOTAL:", "Grand total", "Somme", "Suma", "Soma", "Jumla kuu"]
)
def test_a_word_tells_a_totals_row(word: str) -> None:
    cells = read(f"{HEAD}{ROWS}{word},,,30.75,,\n")
    assert told(cells) == ["totals-row"]
    assert cells.frame["row_no"].to_list() == [2, 3]


def test_a_total_that_differs_is_told_with_the_difference() -> None:
    cells = read(f"{HEAD}{ROWS}Total,,,31.75,,\n")
    assert told(cells) == ["totals-differ"]
    assert "Amount 31.75, the rows add up to 30.75 (difference +1)" in cells.notes[0].sentence
    assert cells.frame.height == 2


def test_subtotals_are_held_against_the_rows_since_the_last() -> None:
    more = "P-3,2026-05-05,1041,1.00,cash,Lio\nP-4,2026-05-05,1042,2.00,bank,Lio\n"
    cells = read(f"{HEAD}{ROWS}Subtotal,,,30.75,,\n{more}Subtotal,,,3.00,,\nTotal,,,33.75,,\n")
    assert told(cells) == ["totals-row"] * 3
    assert cells.frame["row_no"].to_list() == [2, 3, 5, 6]


def test_a_sum_without_a_word_is_a_total_only_where_it_agrees() -> None:
    assert told(read(f"{HEAD}{ROWS},,,30.75,,\n")) == ["totals-row"]
    # One that does not agree may be a row with its cells forgotten: it goes the way of any row.
    cells = read(f"{HEAD}{ROWS},,,30.70,,\n")
    assert (told(cells), cells.frame["row_no"].to_list()) == ([], [2, 3, 4])


def test_a_row_with_a_word_and_other_text_is_no_total() -> None:
    cells = read(f"{HEAD}{ROWS}P-3,2026-05-05,1043,5.00,cash,Total\n")
    assert (told(cells), cells.frame.height) == ([], 3)


def test_decimal_commas_and_thousands_are_added_up() -> None:
    head = HEAD.replace(",", ";")
    rows = 'P-1;a;1;"1.250,50";cash;Lio\nP-2;a;1;20,25;bank;Lio\n'
    assert told(read(f"{head}{rows}Total;;;1.270,75;;\n")) == ["totals-row"]
