"""Decisions on many flags alike, taken back, asked of a station, and refused to those too near."""

import shutil
import threading
from datetime import date
from pathlib import Path

import pytest

from pipeline.alike import alike
from pipeline.awaited import ask_station, awaited
from pipeline.book.book import Book
from pipeline.decide import decide, decide_alike, take_back
from pipeline.errors import DecisionError, SettingsError
from pipeline.queue import season_flags
from pipeline.season.flags import Flag
from pipeline.settings import read_settings
from pipeline.upkeep import rebuild
from tests.take.small import AT, BEMI, CORO, SETTINGS, ask, made, registers, sheet, tables
from tests.take.small import taken as take_sheets

PEOPLE = f"""
[[person]]
name = "Sefu Aldane"
roles = ["manager"]
member_no = "{BEMI}"
relatives = ["{CORO}"]

[[person]]
name = "Mira Tolm"
roles = ["manager"]
"""
OFF = {"gross_kg": "61.25", "tare_kg": "1.25"}
RULE = "off-scale-interval"
MIRA, SEFU = "Mira Tolm", "Sefu Aldane"


@pytest.fixture(scope="module")
def doubtful(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """Four rows off the scale's interval on two days, and a net that is the gross."""
    folder = tmp_path_factory.mktemp("many")
    book = made(folder / "book", SETTINGS + PEOPLE)
    lines = [
        {"receipt_no": "1"} | OFF,
        {"receipt_no": "2", "member_no": BEMI} | OFF,
        {"receipt_no": "3", "member_no": CORO} | OFF,
        {"receipt_no": "4", "day": "2026-05-05"} | OFF,
        {"receipt_no": "5", "day": "2026-05-05", "net_kg": "61.2"},
        {"receipt_no": "6", "gross_kg": "6l.2"},
    ]
    take_sheets(book, *registers(folder), sheet(folder, "w_2026-W19.csv", "weighings", lines))
    return book


@pytest.fixture
def book(doubtful: Book, tmp_path: Path) -> Book:
    return Book(shutil.copytree(doubtful.path, tmp_path / "book"))


def of_rule(book: Book, rule: str = RULE) -> list[Flag]:
    found = [flag for _, flag in season_flags(book) if flag.rule == rule]
    return sorted(found, key=lambda flag: flag.row)


def states(book: Book) -> list[str]:
    return [state for (state,) in ask(book, "select state from weighings order by receipt_no")]


def test_all_of_a_day_are_decided_in_one_line(book: Book) -> None:
    numbers = alike(book, RULE, station="KES", day=date(2026, 5, 4))
    assert len(numbers) == 3
    assert alike(book, RULE, station="ARD") == []
    done = decide_alike(book, numbers, "count", because="scale was off", by=MIRA, at=AT)
    assert {(one.state, one.changed) for one in done} == {("counted", True)}
    assert states(book)[:4] == ["counted", "counted", "counted", "held"]
    assert [line.what for line in book.journal().lines].count("decided") == 1
    again = decide_alike(book, numbers, "count", because="twice", by=MIRA, at=AT)
    assert not any(one.changed for one in again)
    before = tables(book, "decisions", "flags", "exceptions", "member_season")
    rebuild(book)
    assert tables(book, *before) == before


def test_many_are_decided_all_or_none(book: Book) -> None:
    before = (book.path / "journal.jsonl").read_bytes()
    (unread,) = of_rule(book, "unreadable-cell")
    numbers = [flag.flag for flag in (*of_rule(book), unread)]
    with pytest.raises(DecisionError, match="cannot be counted as it stands"):
        decide_alike(book, numbers, "count", because="why", by=MIRA, at=AT)
    assert (book.path / "journal.jsonl").read_bytes() == before
    with pytest.raises(DecisionError, match="No flag is named"):
        decide_alike(book, [], "count", because="why", by=MIRA, at=AT)


@pytest.mark.long
def test_an_amendment_and_a_count_are_taken_back(book: Book) -> None:
    (wrong,) = of_rule(book, "net-not-gross-less-tare")
    off = of_rule(book)[0]
    before = tables(book, "rows_weighings", "exceptions", "member_season", "decisions")
    decide(book, off.flag, "count", because="yes", by=MIRA, at=AT)
    assert take_back(book, off.short, because="no", by="Dana Oreel", at=AT).body["by"] == MIRA
    assert tables(book, *before) == before
    decide(book, wrong.flag, "amend", value="60.0", because="slip", by=MIRA, at=AT)
    assert ask(book, "select net_kg from weighings where receipt_no = 5")[0][0] == 60
    take_back(book, wrong.short, because="another receipt", by=MIRA, at=AT)
    assert tables(book, *before) == before
    rebuild(book)
    assert tables(book, *before) == before
    with pytest.raises(DecisionError, match=r"No decision on .* stands"):
        take_back(book, wrong.short, because="again", by=MIRA, at=AT)
    with pytest.raises(DecisionError, match="needs a reason"):
        take_back(book, off.short, because=" ", by=MIRA, at=AT)


def test_nobody_decides_on_their_own_or_a_relatives_rows(book: Book) -> None:
    first, own, relatives, _ = of_rule(book)
    for flag, number in ((own, BEMI), (relatives, CORO)):
        with pytest.raises(DecisionError, match=f"Member {number} is Sefu Aldane or a declared"):
            decide(book, flag.flag, "count", because="why", by="sefu aldane", at=AT)
    decide(book, own.flag, "count", because="why", by=MIRA, at=AT)
    with pytest.raises(DecisionError, match="Nobody decides on such rows"):
        take_back(book, own.flag, because="why", by=SEFU, at=AT)
    assert decide(book, first.flag, "count", because="why", by=SEFU, at=AT).changed
    with pytest.raises(DecisionError, match="needs a name"):
        decide(book, first.flag, "count", because="why", by=" ", at=AT)


def test_of_two_who_decide_at_once_the_first_stands(book: Book) -> None:
    flag = of_rule(book)[0]
    ends: list[str] = []

    def manager(name: str, action: str) -> None:
        try:
            decide(book, flag.flag, action, because="why", by=name, at=AT)
            ends.append("stands")
        except DecisionError as error:
            ends.append(str(error))

    both = [
        threading.Thread(target=manager, args=pair)
        for pair in ((MIRA, "count"), ("Dana Oreel", "leave-out"))
    ]
    for one in both:
        one.start()
    for one in both:
        one.join()
    assert ends[0] == "stands"
    assert "was decided on 2026-06-30 by" in ends[1] and "Take that back first." in ends[1]
    assert [line.what for line in book.journal().lines].count("decided") == 1


def test_a_station_is_asked_and_the_answer_awaited_until_it_is_decided(book: Book) -> None:
    flag, other, *_ = of_rule(book)
    seasons = sorted(path.name for path in book.seasons.glob("*.duckdb"))
    on = date(2026, 7, 3)
    (asked,) = ask_station(book, [flag.flag], "What does it say?", by=MIRA, due=on, at=AT)
    assert (asked.station, asked.due, asked.overdue(on)) == ("KES", on, False)
    assert asked.overdue(date(2026, 7, 4))
    ask_station(book, [other.flag], "And this?", by=MIRA, at=AT)
    assert [(one.flag, str(one.due)) for one in awaited(book)] == [
        (flag.flag, "2026-07-03"),
        (other.flag, "2026-07-07"),
    ]
    # Asking changes no figure, so no season is worked out anew.
    assert sorted(path.name for path in book.seasons.glob("*.duckdb")) == seasons
    decide(book, flag.flag, "count", because="it says so", by=MIRA, at=AT)
    assert [one.flag for one in awaited(book)] == [other.flag]
    for question, due, says in (
        (" ", None, "needs a text"),
        ("when?", date(2026, 6, 1), "that day is past"),
    ):
        with pytest.raises(DecisionError, match=says):
            ask_station(book, [other.flag], question, by=MIRA, due=due, at=AT)
    with pytest.raises(DecisionError, match="There is nothing to ask"):
        ask_station(book, [flag.flag], "why?", by=MIRA, at=AT)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("manager", "chief"), "a list of: clerk, manager"),
        (("Mira Tolm", "Sefu ALDANE"), "is there twice"),
        (('roles = ["manager"]\n\n', 'roles = ["clerk"]\nstations = ["XYZ"]\n\n'), "not declared"),
    ],
)
def test_people_declared_wrongly_are_refused(change: tuple[str, str], says: str) -> None:
    text = (SETTINGS + PEOPLE + "\n").replace(*change)
    with pytest.raises(SettingsError, match=says):
        read_settings(text)
    assert read_settings(SETTINGS + PEOPLE).person("mira tolm") is not None
