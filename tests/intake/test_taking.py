"""Taking sheets: several in one file, doubtful ones asked and answered, those that only add."""

import json
from datetime import date
from pathlib import Path

import pytest

from pipeline.book.book import Book, new_book
from pipeline.intake.headings import languages_mixed
from pipeline.intake.speaks import Answer
from pipeline.queue import season_flags
from pipeline.season.generations import must_have
from pipeline.season.tables import connect, rows
from pipeline.settings import read_settings
from pipeline.take import take
from pipeline.taken import Taken
from pipeline.verify import verify
from tests.intake.test_bytes import zipped
from tests.take.small import SETTINGS

AT = "2026-10-05T08:00:00Z"
DAY = date(2026, 10, 5)
HEAD = (
    "Station,Date,Book,Receipt,Line,Member,Species,Form,Grade,"
    "Gross kg,Tare kg,Net kg,Scale,Recorder"
)


def line(no: int, *, station: str = "KES", day: str = "2026-05-04", net: str = "60.0") -> str:
    return f"{station},{day},K1,{no},1,1041,arabica,parchment,1,61.0,1.0,{net},S1,Ibo"


def sheet(*lines: str, head: str = HEAD) -> bytes:
    return "\n".join([head, *lines, ""]).encode()


@pytest.fixture
def book(tmp_path: Path) -> Book:
    return new_book(tmp_path / "book", SETTINGS, AT)


def send(book: Book, name: str, content: bytes, answer: Answer | None = None) -> list[Taken]:
    path = book.path.parent / name
    path.write_bytes(content)
    return take(book, [path], by="test", day=DAY, at=AT, answer=answer)


def test_each_sheet_of_a_file_is_a_sheet_of_its_own(book: Book) -> None:
    content = zipped(
        **{
            "w18.csv": sheet(line(1), line(2)),
            "w19.csv": sheet(line(3, day="2026-05-11")),
            "note.txt": b"Greetings to the office\n",
        }
    )
    first, second, note = send(book, "may.zip", content)
    assert (first.sheet, first.kind, first.arrived) == ("may.zip / w18.csv", "weighings", 2)
    assert (second.sheet, second.kind, second.arrived) == ("may.zip / w19.csv", "weighings", 1)
    assert (note.status, note.kind) == ("kept", "")
    assert [one.status for one in send(book, "may.zip", content)] == ["known"] * 3
    assert verify(book)["ok"]


def test_a_doubtful_station_is_asked_and_the_answer_read(book: Book) -> None:
    content = sheet(line(1), line(2, station="ARD"))
    (asked,) = send(book, "both.csv", content)
    assert (asked.status, asked.question, asked.answers) == ("kept", "station", ("ARD", "KES"))
    assert "--station ARD" in asked.message
    assert (asked.arrived, asked.sent_back, asked.counted) == (2, 2, 0)
    (again,) = send(book, "both.csv", content)
    assert again.status == "known" and "still waits" in again.message
    (answered,) = send(book, "both.csv", content, Answer(station="KES"))
    assert (answered.status, answered.kind, answered.arrived) == ("taken", "weighings", 2)
    with connect(str(must_have(book, "2026"))) as con:
        kept = rows(con, "select station, arrived from sheets order by sheet_no")
    # The sheet that waited has given its place to the one that was read.
    assert kept == [("KES", 2)]
    assert json.loads(json.dumps(book.journal().lines[-1].body))["sheets"][0]["said"] == {
        "station": "KES"
    }
    (after,) = send(book, "both.csv", content, Answer(station="ARD"))
    assert after.status == "known"
    assert verify(book)["ok"]


def test_a_name_that_contradicts_the_dates_is_asked(book: Book) -> None:
    content = sheet(line(1), line(2), line(3))
    (asked,) = send(book, "weighings_KES_2026-W30.csv", content)
    assert (asked.question, asked.answers) == ("week", ("2026-W19", "2026-W30"))


def test_a_season_in_one_sheet_is_asked_for_its_weeks(book: Book) -> None:
    days = ("2026-04-06", "2026-04-13", "2026-04-20", "2026-04-27")
    (asked,) = send(book, "so_far.csv", sheet(*(line(n, day=d) for n, d in enumerate(days))))
    assert asked.question == "week"
    assert asked.answers[0] == "2026-W15..2026-W18"
    answer = Answer(week="2026-W15..2026-W18")
    content = (book.path.parent / "so_far.csv").read_bytes()
    assert send(book, "so_far.csv", content, answer)[0].kind == "weighings"


def test_a_heading_twice_waits_unless_its_cells_are_the_same(book: Book) -> None:
    twice = HEAD + ",Net kg"
    (asked,) = send(book, "a.csv", sheet(line(1) + ",59.0", head=twice))
    assert (asked.question, asked.kind) == ("heading", "")
    assert 'Columns 12 ("Net kg") and 15 ("Net kg")' in asked.message
    (same,) = send(book, "b.csv", sheet(line(1) + ",60.0", head=twice))
    assert same.kind == "weighings"


def test_two_kinds_within_reach_are_asked(book: Book) -> None:
    head = "Station,Date,Member,Species,Form,Net kg,Recorder"
    content = sheet("KES,2026-05-04,1041,arabica,parchment,60.0,Ibo", head=head)
    (asked,) = send(book, "x.csv", content)
    assert (asked.status, asked.question, asked.arrived) == ("kept", "kind", 1)
    assert set(asked.answers) == {"season_so_far", "deliveries"}
    # The name of the file settles it where the headings do not.
    assert send(book, "deliveries_1.csv", content + b"\n")[0].kind == "deliveries"
    assert send(book, "x.csv", content, Answer(kind="season_so_far"))[0].kind == "season_so_far"


def test_a_column_shifted_half_way_down_is_told(book: Book) -> None:
    good = [line(n) for n in range(1, 5)]
    slipped = [line(n).replace("KES,", "KES,,", 1) for n in range(5, 9)]
    send(book, "week.csv", sheet(*good, *slipped))
    flags = [flag for _, flag in season_flags(book) if flag.rule == "unreadable-cell"]
    assert sorted(flag.row for flag in flags) == [6, 7, 8, 9]
    assert {(flag.say, flag.do) for flag in flags} == {
        (
            'The cell under "Date" and all after it stand one column to the right of their '
            "headings, from row 6 on.",
            "Move the cells of these rows back under their headings and send them again.",
        )
    }
    with connect(str(must_have(book, "2026"))) as con:
        told = rows(con, "select row_no from exceptions where state = 'sent_back' and row_no > 5")
    assert len(told) == 4


def test_headings_in_two_languages_are_told() -> None:
    languages = {
        "date": frozenset({"en", "fr"}),
        "membre": frozenset({"fr"}),
        "kg": frozenset({"en"}),
    }
    assert languages_mixed(["Date", "Membre", "?"], languages) == ()
    assert languages_mixed(["Date", "Membre", "Kg"], languages) == ("en", "fr")


def test_a_sheet_that_only_adds_leaves_earlier_rows(book: Book) -> None:
    send(book, "one.csv", sheet(line(1), line(2)))
    changed = line(2, net="59.0").replace("1.0,59.0", "2.0,59.0")
    (added,) = send(book, "two.csv", sheet(changed, line(3)), Answer(only_adds=True))
    assert added.version == 2
    with connect(str(must_have(book, "2026"))) as con:
        found = rows(con, "select sheet_no, row_no, by_sheet_no, by_row_no from succession")
    assert found == [(1, 3, 2, 2)]
    # Without the mark, the row that a later version lacks is gone from it.
    send(book, "three.csv", sheet(line(3), line(4)))
    with connect(str(must_have(book, "2026"))) as con:
        gone = rows(con, "select sheet_no, row_no, by_row_no from succession order by all")
    assert gone == [(1, 2, None), (1, 3, 2), (2, 2, None), (2, 3, 2)]


def test_a_title_line_may_say_that_the_sheet_only_adds(book: Book) -> None:
    send(book, "one.csv", sheet(line(1)))
    send(book, "two.csv", b"Only adds rows\n" + sheet(line(2)))
    with connect(str(must_have(book, "2026"))) as con:
        assert rows(con, "select only_adds from sheets order by sheet_no") == [(False,), (True,)]
        assert rows(con, "select count(*) from succession") == [(0,)]


def test_a_raised_limit_lets_a_kept_sheet_in(book: Book) -> None:
    content = sheet(*(line(n) + "o" * 400 for n in range(3_000)))
    book.settings_path.write_text(SETTINGS + "\n[intake]\nfile_mib = 1\n", "utf-8")
    (refused,) = send(book, "big.csv", content)
    assert refused.status == "kept" and "raise file_mib" in refused.message
    book.settings_path.write_text(SETTINGS, "utf-8")
    (taken,) = send(book, "big.csv", content)
    assert (taken.status, taken.arrived) == ("taken", 3_000)


def test_notes_are_kept_with_the_sheet(book: Book) -> None:
    total = "Total,,,,,,,,,,,60.0,,"
    (taken,) = send(book, "week.csv", sheet(line(1), HEAD, total))
    assert taken.arrived == 1
    assert [note["code"] for note in taken.notes] == ["repeated-header", "totals-row"]


def test_limits_are_settings_and_a_wrong_one_is_named() -> None:
    from pipeline.errors import SettingsError

    assert read_settings(SETTINGS + "[intake]\ncolumns = 50\n").intake.columns == 50
    for wrong in ("colums = 50", "columns = 2", 'columns = "50"', "cell_letters = 200000"):
        with pytest.raises(SettingsError, match=r"\[intake\]"):
            read_settings(f"{SETTINGS}[intake]\n{wrong}\n")
