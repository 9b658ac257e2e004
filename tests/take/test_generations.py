"""A season file's generations: the copy that stands ready, and what is cleared away."""

from pathlib import Path

import pytest

from pipeline.book.book import Book, kept_settings
from pipeline.decide import decide
from pipeline.queue import season_flags
from pipeline.season.generations import must_have
from pipeline.season.ready import make_ready
from pipeline.upkeep import bring_up_to_date
from tests.take.small import ask, made, registers, sheet, tables, taken

OFF = {"net_kg": "61.0"}
WORKED_OUT = ("weighings", "valued", "settlements", "member_season", "flags")


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Book:
    """Two rows that wait for somebody, in a book whose every file is worth a copy beforehand."""
    monkeypatch.setattr("pipeline.season.ready.READY_FROM_BYTES", 0)
    book = made(tmp_path / "book")
    rows = [OFF, OFF | {"receipt_no": "2"}]
    taken(book, *registers(tmp_path), sheet(tmp_path, "kes_2026-W19.csv", "weighings", rows))
    return book


def files(book: Book) -> list[str]:
    return sorted(path.name for path in book.seasons.glob("*.duckdb"))


def count_one(book: Book) -> None:
    flag = next(
        one
        for _, one in season_flags(book)
        if one.rule == "net-not-gross-less-tare" and not one.decision
    )
    decide(book, flag.flag, "count", because="so it is", by="Tester")


def test_who_works_all_out_leaves_a_copy_that_the_next_decision_is_worked_in_with(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    current = must_have(book, "2026").name
    assert files(book) == sorted([current, f".ready-{current}"])
    copied: list[object] = []
    with monkeypatch.context() as patch:
        patch.setattr("pipeline.season.refresh.LARGE", 0)
        patch.setattr("shutil.copyfile", lambda *paths: copied.append(paths))
        count_one(book)
    assert copied == []
    assert ask(book, "select count(*) from weighings where state = 'counted'") == [(1,)]
    journal = book.journal()
    bring_up_to_date(book, journal, kept_settings(journal))
    worked_out = tables(book, *WORKED_OUT)
    assert all(worked_out.values())
    bring_up_to_date(book, journal, kept_settings(journal), fresh=True)
    assert tables(book, *WORKED_OUT) == worked_out


def test_a_copy_of_an_earlier_file_is_not_worked_in(book: Book) -> None:
    (ready,) = book.seasons.glob(".ready-*")
    stale = ready.read_bytes()
    count_one(book)
    ready.write_bytes(stale)
    count_one(book)
    assert ask(book, "select count(*) from weighings where state = 'counted'") == [(2,)]
    current = must_have(book, "2026")
    assert files(book) == sorted([current.name, f".ready-{current.name}"])
    # Begun as a copy of the file before, and brought up to this one.
    assert current.with_name(f".ready-{current.name}").read_bytes() == current.read_bytes()


def test_where_a_copy_has_no_room_the_season_is_worked_out_without(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError("no space left")

    (ready,) = book.seasons.glob(".ready-*")
    ready.unlink()
    with monkeypatch.context() as patch:
        patch.setattr("shutil.copyfile", full)
        make_ready(book, "2026")
    assert files(book) == [must_have(book, "2026").name]
    count_one(book)
    assert ask(book, "select count(*) from weighings where state = 'counted'") == [(1,)]
