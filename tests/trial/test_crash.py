"""The crash trial itself at a small count; two hundred kills are `weighbook trial crash`."""

import shutil
from pathlib import Path

import pytest

from pipeline.book.book import Book, new_book
from pipeline.take import take
from pipeline.trial import crash
from pipeline.trial.crash_sheets import registers, settings


@pytest.mark.long
def test_killed_at_random_moments_nothing_is_lost_doubled_or_different() -> None:
    found = crash.measure_crashes(6, seed=11)
    assert found.kills >= 6 and sum(found.kills_in.values()) == found.kills
    assert (found.lost, found.doubled, found.differing, found.verify_ok) == ((), (), (), True)


@pytest.mark.long
def test_the_trial_sees_what_a_book_lost(tmp_path: Path) -> None:
    """A piece of work that was done in one of the two books alone is named."""
    top = tmp_path / "calm"
    top.mkdir()
    book = new_book(top / "book", settings(), "2026-03-30T06:00:00Z")
    take(book, registers(top), by="clerk", at="2026-03-30T07:00:00Z")
    other = Book(shutil.copytree(book.path, tmp_path / "killed" / "book"))
    for piece in range(2):
        crash.work(top, piece)
    crash.work(tmp_path / "killed", 0)
    said = crash._tables_differ(other, book)
    assert "table decisions" in said and "table exceptions" in said
