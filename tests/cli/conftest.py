import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from pipeline.book.book import Book
from pipeline.cli.main import cli
from tests.take.small import ASHA, BEMI, made, registers, sheet, taken

# Beside sound rows: a net that is the gross, a record that costs, and a cell that cannot be read.
WEIGHED = [
    {"receipt_no": "1"},
    {"receipt_no": "2", "net_kg": "61.2"},
    {"receipt_no": "3", "form": "fresh cherry", "moisture_pct": "", "gross_kg": "101.2"}
    | {"net_kg": "100.0"},
    {"receipt_no": "4", "gross_kg": "6l.2"},
    {"receipt_no": "5", "member_no": BEMI},
]


@pytest.fixture
def run() -> Callable[..., Result]:
    """Run the command line in this process; output and errors apart."""

    def called(*words: object) -> Result:
        return CliRunner().invoke(cli, [str(word) for word in words])

    return called


@pytest.fixture(scope="session")
def sheets(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The sheets of the small book, by name."""
    folder = tmp_path_factory.mktemp("sheets")
    paths = [
        *registers(folder),
        sheet(folder, "w_2026-W19.csv", "weighings", WEIGHED),
        sheet(folder, "p_2026-W19.csv", "payments", [{}, {"payment_no": "P-2", "amount": "7.35"}]),
        sheet(folder, "f_2026-W19.csv", "farm_record", [{}, {"day": "2026-05-05", "cost": "3.1"}]),
        sheet(folder, "d_2026-W19.csv", "deliveries", [{"member_no": ASHA}]),
    ]
    return {path.name: path for path in paths}


@pytest.fixture(scope="session")
def filled(sheets: dict[str, Path], tmp_path_factory: pytest.TempPathFactory) -> Book:
    """A small book with all of them taken; to be read only."""
    book = made(tmp_path_factory.mktemp("filled") / "book")
    taken(book, *sheets.values())
    return book


@pytest.fixture
def book(filled: Book, tmp_path: Path) -> Book:
    """A copy of the small book, for one test."""
    return Book(shutil.copytree(filled.path, tmp_path / "book"))
