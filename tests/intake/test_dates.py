from datetime import date

import polars as pl
import pytest
from babel.dates import format_date
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.intake.dates import LANGUAGES, read_date, serial_day
from pipeline.intake.kinds import kinds
from pipeline.intake.settle import settle
from tests.intake.conftest import notes, reasons, settings_with, text_of

MAY_4 = date(2026, 5, 4)


@pytest.mark.parametrize(
    "written",
    [
        "2026-05-04", "2026/5/4", "2026.05.04", "20260504", "2026-05-04 00:00:00",
        "2026-05-04T14:30", "4 May 2026", "May 4, 2026", "4th May 2026", "Monday 4 May 2026",
        "4 mai 2026", "lundi 4 mai 2026", "4 de mayo de 2026", "lunes, 4 may 2026",
        "4 de maio de 2026", "segunda-feira, 4 mai. 2026", "4 Mei 2026", "Jumatatu 4 Mei 2026",
        "4-mai-26", "04 MAY 26",
    ],
)  # fmt: skip
def test_dates_that_can_be_read_one_way_only(written: str) -> None:
    assert read_date(written, 2026).day == MAY_4


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("form", ["long", "full"])
def test_every_month_as_the_language_writes_it(language: str, form: str) -> None:
    for month in range(1, 13):
        day = date(2026, month, 9)
        assert read_date(format_date(day, form, locale=language), 2026).day == day


@pytest.mark.parametrize(
    ("written", "why"),
    [
        ("31/02/2026", "no-such-day"), ("2026-02-30", "no-such-day"),
        ("30 février 2026", "no-such-day"),
        ("0206-05-04", "no-such-year|0206"), ("04/05/0206", "no-such-year|0206"),
        ("4 May", "no-year"), ("Tuesday 4 May 2026", "weekday-differs"),
        ("yesterday", "not-a-date"),
        ("4/5", "no-year"), ("40/50", "not-a-date"),
        ("05/2026", "no-day"), ("May 2026", "no-day"),
        ("12", "not-a-date"), ("99999", "not-a-date"),
    ],
)  # fmt: skip
def test_why_a_date_is_none(written: str, why: str) -> None:
    found = read_date(written, 2026)
    assert (found.reason, found.orders) == (why, {})


@pytest.mark.parametrize(
    ("cells", "days", "settled"),
    [
        (["13/05/2026", "04/05/2026"], [date(2026, 5, 13), MAY_4], "dates-by-sheet"),
        (["05/13/2026", "05/04/2026"], [date(2026, 5, 13), MAY_4], "dates-by-sheet"),
        (["02/12/2026", "06/01/2026"], [None, None], "dates-open"),
        # As 2 April both lie in the season, as 4 February they do not.
        (["02/04/2026", "03/04/2026"], [date(2026, 4, 2), date(2026, 4, 3)], "dates-by-season"),
        (["04/02/2026"], [date(2026, 4, 2)], "dates-by-season"),
    ],
)
def test_the_sheet_as_a_whole_settles_the_order(typed, cells, days, settled) -> None:
    found = typed([{"day": cell} for cell in cells])
    assert found.rows["day"].to_list() == days
    assert notes(found) == [settled]
    assert bool(reasons(found)) == (settled == "dates-open")


def test_what_is_open_says_both_days(typed) -> None:
    found = typed([{"day": "04/05/2026"}, {"day": "05/05/2026"}])
    assert reasons(found) == [(2, "day", "either-date|2026-05-04|2026-04-05")]
    assert found.rows["day"].to_list() == [None, date(2026, 5, 5)]


def test_the_week_in_the_files_name_settles_the_order(typed) -> None:
    found = typed([{"day": "04/05/2026"}], days=(MAY_4, date(2026, 5, 10)))
    assert found.rows["day"].to_list() == [MAY_4]
    assert notes(found) == ["dates-by-week"]


def test_what_book_toml_declares_comes_last(typed) -> None:
    month_first = '[sheets]\ndate_order = "month-first"'
    found = typed([{"day": "04/05/2026"}], book=month_first)
    assert (found.rows["day"].to_list(), notes(found)) == ([date(2026, 4, 5)], ["dates-by-book"])
    own = typed([{"day": "04/05/2026"}, {"day": "14/05/2026"}], book=month_first)
    assert own.rows["day"].to_list() == [MAY_4, date(2026, 5, 14)]


def test_one_date_against_the_sheets_habit_is_sent_back(typed) -> None:
    found = typed([{"day": "14/05/2026"}] * 20 + [{"day": "05/14/2026"}])
    assert reasons(found) == [(22, "day", "other-date-order|2026-05-14")]


def test_two_digit_years_are_noted_and_near(typed) -> None:
    found = typed([{"day": "13/05/26"}])
    assert found.rows["day"].to_list() == [date(2026, 5, 13)]
    assert "short-years" in notes(found)
    assert read_date("13/05/98", 2026).day == date(1998, 5, 13)


def test_day_numbers_of_the_1900_system() -> None:
    # ECMA-376 part 1, 18.17.4.1: 1 is 1 January 1900, and a 29 February 1900 that never was is
    # counted, as 60, so 61 is 1 March 1900. 44197 is 1 January 2021, as every spreadsheet shows it.
    assert serial_day(1) == date(1900, 1, 1)
    assert serial_day(59) == date(1900, 2, 28)
    assert serial_day(60) is None
    assert serial_day(61) == date(1900, 3, 1)
    assert serial_day(44197) == date(2021, 1, 1)


def test_a_whole_column_of_day_numbers_is_read_and_noted(typed) -> None:
    found = typed([{"day": "46146"}, {"day": "46147.0"}])
    assert found.rows["day"].to_list() == [MAY_4, date(2026, 5, 5)]
    assert notes(found) == ["day-numbers"]


def test_one_day_number_among_dates_is_offered_not_taken(typed) -> None:
    found = typed([{"day": "46146"}, {"day": "2026-05-05"}])
    assert reasons(found) == [(2, "day", "day-number|2026-05-04")]


days = st.dates(min_value=date(2026, 3, 30), max_value=date(2026, 10, 4))


@settings(deadline=None, max_examples=50)
@given(
    st.lists(days, min_size=1, max_size=20), st.sampled_from(["%d/%m/%Y", "%m/%d/%Y", "%d.%m.%y"])
)
def test_a_settled_sheet_gives_the_days_that_were_written(written, form) -> None:
    from pipeline.intake.settle import Front
    from pipeline.intake.type_sheets import type_sheets

    kind = kinds()["weighings"]
    text = text_of(kind, [{"day": day.strftime(form)} for day in written])
    found = type_sheets(kind, text, {1: Front()}, settings_with())
    # Either the very days, or a reason: never another day.
    for day, read in zip(written, found.rows["day"], strict=True):
        assert read in (day, None)
    unread = found.rows["day"].null_count()
    assert unread == len(reasons(found))


def test_settle_reads_one_sheet_by_itself() -> None:
    kind = kinds()["weighings"]
    frame = text_of(kind, [{"day": "13/05/2026", "net_kg": "60,5"}]).drop("sheet_no")
    frame = frame.with_columns(
        gross_kg=pl.lit("61"), tare_kg=pl.lit("1"), moisture_pct=pl.lit("12")
    )
    form = settle(kind, {"net_kg": "Net (lb)"}, frame, settings_with())
    assert (form.decimal, form.dates, dict(form.units)) == (",", "dmy", {"net_kg": "lb"})
    assert all(note.sentence and "{" not in note.sentence for note in form.notes)
