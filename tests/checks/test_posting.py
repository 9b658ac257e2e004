"""What only two people may post, and what comes after closing: not-posted-by-two, season-closed."""

import os
from pathlib import Path

import pytest

from pipeline.book.book import Book
from pipeline.closing import close_season
from pipeline.errors import PostingError
from pipeline.season.generations import HEAD_BYTES, must_have
from pipeline.season.tables import connect, rows
from pipeline.upkeep import rebuild
from tests.take.small import ASHA, AT, SETTINGS, ask, made, number, posted, registers, sheet, taken

COME = number(1004)
ROW = {
    "resolution_no": "AGM-7",
    "resolution_on": "2026-05-02",
    "day": "2026-05-04",
    "pool": "PARCHMENT",
    "member_no": ASHA,
    "kg": "60",
    "rate_per_kg": "0.1",
    "amount": "6.00",
}


def test_a_second_payment_that_two_people_posted_counts_and_any_other_goes_back(
    tmp_path: Path,
) -> None:
    book = made(tmp_path / "book")
    known = sheet(tmp_path, "members.csv", "members", [{"member_no": ASHA}])
    whole = sheet(tmp_path, "second_payments.csv", "second_payments", [ROW])
    posted(book, whole)
    other = sheet(tmp_path, "alone.csv", "second_payments", [ROW | {"pool": "CHERRY"}])
    taken(book, known, whole, other)
    assert ask(book, "select pool, state from second_payments order by pool") == [
        ("CHERRY", "sent_back"),
        ("PARCHMENT", "counted"),
    ]
    assert ask(book, "select rule from flags") == [("not-posted-by-two",)]
    assert ask(book, "select second_minor, balance_minor from member_season") == [(600, 600)]


def with_a_closed_season(tmp_path: Path) -> Book:
    """A book of two seasons, the first closed after a week."""
    settings = SETTINGS + (
        '\n[[season]]\ncode = "2027"\nfirst_day = 2027-03-30\nlast_day = 2027-10-04\n'
    )
    book = made(tmp_path / "book", settings)
    taken(book, *registers(tmp_path), sheet(tmp_path, "week.csv", "weighings", [{}]))
    close_season(book, "2026", by="Lio Tessan", second="Ana Brel", at=AT)
    return book


def test_a_sheet_of_a_closed_season_goes_back_and_those_before_stand(tmp_path: Path) -> None:
    book = with_a_closed_season(tmp_path)
    late = sheet(tmp_path, "late.csv", "weighings", [{"receipt_no": "2", "recorder": "Late"}])
    taken(book, late)
    assert ask(book, "select receipt_no, state from weighings order by 1") == [
        (1, "counted"),
        (2, "sent_back"),
    ]
    assert ask(book, "select rule from flags") == [("season-closed",)]


def test_a_season_with_rows_that_wait_is_not_closed_and_it_is_said_how_to_settle_them(
    tmp_path: Path,
) -> None:
    following = '\n[[season]]\ncode = "2027"\nfirst_day = 2027-03-30\nlast_day = 2027-10-04\n'
    book = made(tmp_path / "book", SETTINGS + following)
    taken(book, *registers(tmp_path), sheet(tmp_path, "w.csv", "weighings", [{"net_kg": "50.0"}]))
    says = "^1 weighings .* List them with weighbook flags and settle each with weighbook decide"
    with pytest.raises(PostingError, match=says):
        close_season(book, "2026", by="Lio Tessan", second="Ana Brel", at=AT)


def test_a_register_that_comes_after_closing_leaves_the_closed_season_as_it_was(
    tmp_path: Path,
) -> None:
    book = with_a_closed_season(tmp_path)
    before = must_have(book, "2026")
    come = sheet(tmp_path, "come.csv", "members", [{"member_no": COME, "name": "Kofi Brel"}])
    (done,) = taken(book, come)
    assert done.counted == 1
    assert must_have(book, "2026") == before
    known = "select member_no from members where member_no = ?"
    assert rows_of(book, "2027", known, COME) == [(COME,)]
    rebuild(book)
    assert rows_of(book, "2026", known, COME) == []
    assert rows_of(book, "2027", known, COME) == [(COME,)]


def test_a_take_opens_no_file_of_a_closed_season(tmp_path: Path) -> None:
    book = with_a_closed_season(tmp_path)
    closed = must_have(book, "2026")
    status = closed.stat()
    # Who opened it would find it damaged, and work the season out anew.
    head = closed.read_bytes()[:HEAD_BYTES]
    closed.write_bytes(head + bytes(status.st_size - HEAD_BYTES))
    os.utime(closed, ns=(status.st_atime_ns, status.st_mtime_ns))
    (done,) = taken(book, sheet(tmp_path, "come.csv", "members", [{"member_no": COME}]))
    assert done.counted == 1
    assert must_have(book, "2026") == closed
    assert closed.read_bytes() == head + bytes(status.st_size - HEAD_BYTES)
    closed.touch()
    taken(book, sheet(tmp_path, "more.csv", "members", [{"member_no": number(1005)}]))
    assert must_have(book, "2026") != closed


def rows_of(book: Book, season: str, query: str, *given: object) -> list[tuple[object, ...]]:
    with connect(str(must_have(book, season))) as con:
        return rows(con, query, given)
