from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.intake.characters import number_in_words
from pipeline.intake.kinds import kinds
from pipeline.intake.numbers import only_mark, readings, take_apart
from pipeline.intake.settle import Front
from pipeline.intake.type_sheets import type_sheets
from tests.intake.conftest import notes, reasons, settings_with, text_of


@pytest.mark.parametrize(
    ("written", "mark"),
    [
        ("61.2", "."), ("61,2", ","), ("1.234", "either"), ("1,234", "either"), ("1 234", ""),
        ("0,250", ","), ("0.250", "."), ("1234,567", ","), ("1.234.567", ","), ("1,234,567", "."),
        ("1.234,5", ","), ("1,234.5", "."), ("1'234.50", "."), ("1 234,500", ","), (".5", "."),
        ("12.5.3", ""), ("60 61", ""), ("12", ""),
    ],
)  # fmt: skip
def test_which_mark_a_number_must_have(written: str, mark: str) -> None:
    assert only_mark(written) == mark


def test_a_whole_number_column_has_no_decimals_so_a_mark_can_only_be_of_thousands() -> None:
    assert only_mark("1.234", whole=True) == ","
    assert only_mark("1.000", whole=True) == "either"


@pytest.mark.parametrize("space", [" ", "\u00a0", "\u202f", "\u2009"])
def test_thousands_may_be_marked_by_any_space(space: str) -> None:
    written = take_apart(f"1{space}234{space}567,5")
    assert written is not None and readings(written.number) == {",": "1234567.5"}


@pytest.mark.parametrize(
    ("rows", "kilograms"),
    [
        # French, Spanish and Portuguese: a decimal comma; thousands by space or point.
        (["61,5", "1 234,5", "1.234"], ["61.5", "1234.5", "1234"]),
        # English and Swahili: a decimal point, thousands by comma.
        (["61.5", "1,234.5", "1,234"], ["61.5", "1234.5", "1234"]),
        (["61.5", "1'234.5", "1.234"], ["61.5", "1234.5", "1.234"]),
    ],
)
def test_the_sheet_as_a_whole_settles_the_decimal_mark(typed, rows, kilograms) -> None:
    # All other numbers of the row are whole, so that this column alone settles the sheet.
    whole = {"gross_kg": "62", "tare_kg": "1", "moisture_pct": "12"}
    found = typed([{**whole, "net_kg": number} for number in rows])
    assert found.rows["net_kg"].to_list() == [Decimal(number) for number in kilograms]
    assert notes(found) == ["decimal-by-sheet"]
    assert not reasons(found)


def test_what_nothing_settles_is_sent_back_and_says_both_readings(typed) -> None:
    found = typed([{"kg": "1.234"}, {"kg": "12"}], kind="deliveries")
    assert reasons(found) == [(2, "kg", "either-number|1.234|1234")]
    assert found.rows["kg"].to_list() == [None, Decimal(12)]
    assert notes(found) == ["decimal-open"]


def test_a_declared_mark_settles_what_the_sheet_leaves_open_and_only_that(typed) -> None:
    comma = '[sheets]\ndecimal_mark = "comma"'
    found = typed([{"kg": "1.234"}], kind="deliveries", book=comma)
    assert found.rows["kg"].to_list() == [Decimal(1234)]
    assert notes(found) == ["decimal-by-book"]
    own = typed([{"kg": "1.234"}, {"kg": "60.5"}], kind="deliveries", book=comma)
    assert own.rows["kg"].to_list() == [Decimal("1.234"), Decimal("60.5")]


def test_what_a_declared_scale_can_weigh_settles_a_sheet_of_its_weighings(typed) -> None:
    rows = [{"gross_kg": "61.250", "tare_kg": "1", "net_kg": "60.250", "moisture_pct": "12"}]
    found = typed(rows)
    assert found.rows["net_kg"].to_list() == [Decimal("60.25")]
    assert notes(found) == ["decimal-by-scale"]


def test_one_cell_against_the_sheets_habit_is_sent_back(typed) -> None:
    found = typed([{"kg": "60.5"}] * 20 + [{"kg": "60,5"}], kind="deliveries")
    assert reasons(found) == [(22, "kg", "other-decimal-mark|60.5")]


def test_two_habits_leave_open_only_what_may_be_either(typed) -> None:
    found = typed([{"kg": "60.5"}, {"kg": "60,5"}, {"kg": "1.234"}], kind="deliveries")
    assert reasons(found) == [(4, "kg", "either-number|1.234|1234")]
    assert notes(found) == ["decimal-mixed"]
    assert found.rows["kg"].to_list()[:2] == [Decimal("60.5")] * 2


def test_a_typographic_minus_is_a_minus(typed) -> None:
    found = typed([{"net_kg": "\u221212.5"}])
    assert found.rows["net_kg"].to_list() == [Decimal("-12.5")]


@pytest.mark.parametrize(
    ("words", "number"),
    [
        ("twelve", 12), ("Twenty-five", 25), ("douze", 12), ("vingt et un", 21), ("doce", 12),
        ("treinta y dos", 32), ("doze", 12), ("vinte e cinco", 25), ("kumi na mbili", 12),
        ("ishirini na tano", 25), ("sixty kilos", None), ("", None),
    ],
)  # fmt: skip
def test_small_numbers_in_words_of_five_languages(words: str, number: int | None) -> None:
    assert number_in_words(words) == number


weights = st.decimals(min_value=0, max_value=2999, places=2).map(lambda d: d.normalize())


def _rows(numbers: list[Decimal], mark: str) -> list[dict[str, str]]:
    texts = [f"{number:f}".replace(".", mark) for number in numbers]
    return [
        {"gross_kg": text, "tare_kg": f"0{mark}5", "moisture_pct": f"11{mark}8", "net_kg": text}
        for text in texts
    ]


def _type(rows):
    kind = kinds()["weighings"]
    return type_sheets(kind, text_of(kind, rows), {1: Front()}, settings_with())


@settings(deadline=None, max_examples=50)
@given(st.lists(weights, min_size=1, max_size=12))
def test_a_decimal_comma_sheet_and_its_point_twin_give_the_same_rows(numbers) -> None:
    comma, point = _type(_rows(numbers, ",")), _type(_rows(numbers, "."))
    assert comma.rows.equals(point.rows)
    assert point.rows["net_kg"].to_list() == numbers
    assert not reasons(comma) and not reasons(point)


@settings(deadline=None, max_examples=50)
@given(
    st.lists(st.sampled_from(["61,5", "1.234", "12", "1 234", "n/a", "0,5"]), min_size=1),
    st.randoms(),
)
def test_the_order_of_rows_changes_nothing(texts, random) -> None:
    shuffled = list(range(len(texts)))
    random.shuffle(shuffled)
    found = _type([{"net_kg": text} for text in texts]).rows["net_kg"].to_list()
    moved = _type([{"net_kg": texts[place]} for place in shuffled]).rows["net_kg"].to_list()
    assert moved == [found[place] for place in shuffled]
