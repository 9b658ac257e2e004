from datetime import date

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.intake.cells import type_rows
from pipeline.intake.found import Note
from pipeline.intake.kinds import kinds
from pipeline.intake.reasons import REASONS, code_of, reason
from pipeline.intake.settle import Front
from pipeline.intake.type_sheets import type_sheets
from pipeline.intake.words import word_table
from tests.intake.conftest import reasons, settings_with, text_of


@pytest.mark.parametrize(
    ("cell", "why"),
    [
        ("-", "no-value-needed"), ("n/a", "no-value-needed"), ("NIL", "no-value-needed"),
        ("none", "no-value-needed"),
        ("?", "no-value-needed"), ("néant", "no-value-needed"), ("nada", "no-value-needed"),
        ("hakuna", "no-value-needed"),
        ("twelve", "number-in-words|12"), ("vingt-cinq", "number-in-words|25"),
        ("٦٠", "other-digits|60"), ("६०.५", "other-digits|60.5"), ("৬০", "other-digits|60"),
        ("6\u200b0", "invisible-characters"), ("6O.5", "letter-for-digit|60.5"),
        ("6l", "letter-for-digit|61"), ("12.5.3", "several-points"), ("12,,5", "several-points"),
        ("60/61", "two-numbers"), ("60 61", "two-numbers"), ("60-61", "two-numbers"),
        ("(12)", "number-in-brackets|-12|12"), ("=A1+B1", "formula"), ("=60", "formula"),
        ("999999999999.5", "too-large"), ("60.1234", "too-many-decimals"), ("1e2", "not-a-number"),
        ("abc", "not-a-number"), ("1_000", "not-a-number"), ("5.", "not-a-number"),
        ("0x10", "not-a-number"), ("9" * 501, "too-large"), ("x" * 501, "too-long|500"),
        ("60½", "fraction|60.5"), ("60 1/4", "fraction|60.25"), ("5/4", "two-numbers"),
        ("12.50-", "minus-behind|-12.50|12.50"), ("#DIV/0!", "spreadsheet-error|#DIV/0!"),
        ("6\ufffd", "unreadable-character"), ("", "missing"),
        (" \u200b ", "missing"),
    ],
)  # fmt: skip
def test_why_a_number_is_none(typed, cell: str, why: str) -> None:
    found = typed([{"net_kg": cell}])
    assert reasons(found) == [(2, "net_kg", why)]
    assert found.rows["net_kg"].to_list() == [None]
    # As typed, so that the clerk finds it again.
    assert found.unreadable["value"].to_list() == [cell if cell.strip(" \u200b") else None]


@pytest.mark.parametrize(
    ("column", "cell", "why"),
    [
        ("receipt_no", "118.5", "not-a-whole-number"), ("receipt_no", "1" * 16, "too-large"),
        ("day", "31/02/2026", "no-such-day"), ("day", "0206-05-04", "no-such-year|0206"),
        ("day", "-", "no-word-needed"), ("day", "2O26-05-O4", "letter-for-digit|2026-05-04"),
        ("moisture_pct", "-", "no-value"), ("moisture_pct", "0.115", "share-of-one|11.5"),
        ("recorder", "#REF!", "spreadsheet-error|#REF!"),
        ("scale", "K\ufffd", "unreadable-character"),
        ("recorder", "Ib\ufffd", "unreadable-character"), ("day", "=TODAY()", "formula"),
        ("form", "parchmnt", "near-choice|parchment"), ("species", "tea", "not-a-choice"),
        ("form", "n/a", "no-word-needed"), ("grade", "-", "no-word-needed"),
        ("scale", "KES\u200d1", "invisible-characters"),
    ],
)  # fmt: skip
def test_why_a_cell_of_another_type_is_none(typed, column: str, cell: str, why: str) -> None:
    assert reasons(typed([{column: cell}])) == [(2, column, why)]


def test_marks_for_nothing_are_empty_only_where_declared_and_optional(typed) -> None:
    row = {"moisture_pct": "-", "net_kg": "-"}
    assert [why for _, _, why in reasons(typed([row]))] == ["no-value", "no-value-needed"]
    declared = typed([row], book='[sheets]\nempty_marks = ["-"]')
    assert reasons(declared) == [(2, "net_kg", "no-value-needed")]


def test_what_cannot_be_seen_at_the_ends_of_a_cell_is_not_compared(typed) -> None:
    row = {
        "net_kg": "\ufeff60.5\u200b", "station": "\u200ekes ", "day": "\u00a02026-05-04",
        "form": " Ripe  Cherry\u200f",
    }  # fmt: skip
    found = typed([row])
    assert not reasons(found)
    assert found.rows["station"].to_list() == ["KES"]


def test_text_that_begins_like_a_formula_stays_as_typed_in_a_text_column(typed) -> None:
    assert typed([{"recorder": "=cmd|x"}]).rows["recorder"].to_list() == ["=cmd|x"]


def test_every_reason_has_a_sentence_and_a_next_step_with_nothing_left_open() -> None:
    assert set(REASONS) == set(word_table("reasons"))
    for code in REASONS:
        what, remedy = REASONS[reason(code, "a", "b", "c")]
        assert what and remedy.endswith((".", "?")) and "{" not in what + remedy


def test_details_come_out_of_cells_and_fill_no_further_sentence() -> None:
    what, _ = REASONS[reason("either-number", "{1}", "|x")]
    assert what == "can be read as {1} or as /x, and nothing else in the sheet settles it"
    assert code_of(reason("no-value")) == "no-value"
    assert Note("decimal-by-book", ("{0}",)).sentence.startswith(
        "Decimals are read after a {0}, as"
    )


def test_a_shifted_run_of_rows_gets_one_reason_a_row(typed) -> None:
    kind = kinds()["weighings"]
    names = [column.name for column in kind.columns]
    examples = [column.example for column in kind.columns]
    right = dict(zip(names, [*examples[:6], "x", *examples[6:-1]], strict=True)) | {
        "beyond": examples[-1]
    }
    left = dict(zip(names, [*examples[:6], *examples[7:], None], strict=True))
    for shifted, side in ((right, "right"), (left, "left")):
        found = typed([{}] * 4 + [shifted] * 5 + [{}])
        where = f"shifted|6|one column to the {side} of their headings|Species"
        assert reasons(found) == [(row, "", where) for row in range(6, 11)]


def test_a_single_row_is_shifted_where_that_mends_all_of_it(typed) -> None:
    kind = kinds()["weighings"]
    names = [column.name for column in kind.columns]
    examples = [column.example for column in kind.columns]
    moved = dict(zip(names, [examples[0], None, *examples[1:-1]], strict=True))
    found = typed([{}, moved | {"beyond": examples[-1]}, {}])
    assert [(row, col) for row, col, _ in reasons(found)] == [(3, "")]
    # What stands under a wrong heading is no value of it; what stands before is.
    assert found.rows.row(1, named=True)["station"] == examples[0]
    assert set(found.rows.row(1)[3:]) == {None}


def test_cells_are_not_moved_over_one_that_is_filled(typed) -> None:
    kind = kinds()["weighings"]
    names = [column.name for column in kind.columns]
    examples = [column.example for column in kind.columns]
    left = dict(zip(names, [*examples[:6], *examples[7:], "remark"], strict=True))
    assert not any(why.startswith("shifted") for _, _, why in reasons(typed([left] * 5)))


def test_rows_that_are_merely_wrong_are_not_called_shifted(typed) -> None:
    found = typed([{"net_kg": "x", "form": "tea", "day": "y"}] * 5)
    assert {why for _, _, why in reasons(found)} == {"not-a-number", "not-a-choice", "not-a-date"}


def _canonical(column) -> st.SearchStrategy[str]:
    if column.type == "date":
        return st.dates(min_value=date(1950, 1, 1), max_value=date(2099, 12, 31)).map(str)
    if column.type == "integer":
        return st.integers(min_value=-(10**14), max_value=10**14).map(str)
    if column.type in ("kg", "percent"):
        return st.decimals(min_value=-999, max_value=999, places=2).map(str)
    return st.just(column.example)


@settings(deadline=None, max_examples=50)
@given(st.data())
def test_plain_text_comes_back_as_it_was_and_both_ways_agree(data) -> None:
    kind = kinds()["weighings"]
    row = {column.name: data.draw(_canonical(column)) for column in kind.columns}
    text = text_of(kind, [row])
    plain = type_rows(kind, text, 2)
    assert not plain.unreadable.height
    for name in ("net_kg", "receipt_no", "day", "moisture_pct"):
        stored = plain.rows[name][0]
        written = row[name]
        assert str(stored) == written or (name != "day" and stored == type(stored)(written))
    # A second sheet that is odd takes the longer way; this one must be the same beside it.
    odd = text_of(kind, [{**row, "net_kg": "0,5"}], sheet_no=2)
    both = type_sheets(kind, pl.concat([text, odd]), {1: Front(), 2: Front()}, settings_with())
    assert both.rows.filter(sheet_no=1).equals(plain.rows)


@settings(deadline=None, max_examples=3)
@given(st.lists(st.text(max_size=20), min_size=6, max_size=12))
def test_no_text_breaks_any_column(cells: list[str]) -> None:
    for kind in kinds().values():
        # Each text fills a sheet of its own, so that it alone settles how its sheet is read.
        sheets = [
            text_of(kind, [dict.fromkeys((column.name for column in kind.columns), cell)], n)
            for n, cell in enumerate(cells)
        ]
        fronts = dict.fromkeys(range(len(cells)), Front())
        found = type_sheets(kind, pl.concat(sheets), fronts, settings_with())
        assert found.rows.height == len(cells)
        for why in found.unreadable["reason"]:
            assert REASONS[why]
