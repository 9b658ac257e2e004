import shutil
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.book.book import Book
from tests.take.small import made, registers, sheet, taken

WEIGHED = [{"receipt_no": "1"}, {"receipt_no": "2", "gross_kg": "6l.2"}]


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """A small book with registers and a week of weights; to be copied, not changed."""
    folder = tmp_path_factory.mktemp("service")
    book = made(folder / "book")
    taken(
        book,
        *registers(folder),
        sheet(folder, "weighings_KES_2026-W19.csv", "weighings", WEIGHED[:1]),
    )
    return book


@pytest.fixture
def book(served: Book, tmp_path: Path) -> Book:
    return Book(shutil.copytree(served.path, tmp_path / "book"))


def until(so: Callable[[], object], within_s: float = 60) -> None:
    end = time.monotonic() + within_s
    while not so():
        assert time.monotonic() < end, "not in time"
        time.sleep(0.05)
