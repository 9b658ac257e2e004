import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.book.book import Book
from tests.take.small import made, registers, taken


@pytest.fixture(scope="session")
def registered(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """A small book with its registers taken; tests copy it."""
    folder = tmp_path_factory.mktemp("registered")
    book = made(folder / "book")
    taken(book, *registers(folder))
    return book


@pytest.fixture
def book(registered: Book, tmp_path: Path) -> Book:
    """A copy of the small book, for one test."""
    return Book(shutil.copytree(registered.path, tmp_path / "book"))


@pytest.fixture(scope="module")
def copy_for_module(
    registered: Book, tmp_path_factory: pytest.TempPathFactory
) -> Callable[[], Book]:
    """A copy of the small book, for all tests of a module."""
    return lambda: Book(
        shutil.copytree(registered.path, tmp_path_factory.mktemp("module") / "book")
    )
