"""Every sheet of the library goes through `take`; what comes of it is what expected.txt says.

A folder holds the sheet as it was sent; perhaps settings.toml (added to book.toml), args.toml (what
was answered: as, station, week, recorder, only_adds; ask_first sends it once without), and earlier/
(sheets sent before it). After a change on purpose: pytest tests/cases --update-cases, and read the
difference as the clerk would.
"""

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import pytest

from pipeline.book.book import Book
from pipeline.taken import STATES
from tests.cases.make_binary import made
from tests.cases.running import CASES, book_with_registers, cases, copied, run, sheets_of


@pytest.fixture(scope="session")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Book]:
    """Give a copy of the book with the shared registers, for each text of settings."""
    ready: dict[str, Book] = {}
    folder = tmp_path_factory.mktemp("cases")

    def give(settings: str) -> Book:
        if settings not in ready:
            ready[settings] = book_with_registers(folder / f"book-{len(ready)}", settings)
        return copied(ready[settings], tmp_path_factory.mktemp("case") / "book")

    return give


# `make test` takes every fifth case, for each takes a book of its own;
# `pytest tests/cases` and `make test-long` take the rest.
@pytest.mark.parametrize(
    "folder",
    [
        pytest.param(folder, id=folder.name, marks=[pytest.mark.long] if n % 5 else [])
        for n, folder in enumerate(cases())
    ],
)
def test_case(folder: Path, empty: Callable[[str], Book], request: pytest.FixtureRequest) -> None:
    told, done = run(folder, empty)
    for one in done:
        assert one.arrived == sum(getattr(one, state) for state in STATES), one
        assert one.kind or one.message.endswith("."), one
    expected = folder / "expected.txt"
    if request.config.getoption("--update-cases", default=False):
        expected.write_text(told, "utf-8", newline="\n")
    assert told == expected.read_text("utf-8")


def test_the_library_is_whole() -> None:
    folders = cases()
    assert len(folders) >= 65
    numbers = [folder.name[:4] for folder in folders]
    assert len(set(numbers)) == len(numbers)
    for folder in folders:
        assert (folder / "expected.txt").is_file(), folder.name
        assert sheets_of(folder), folder.name


@pytest.mark.parametrize("folder", cases(), ids=lambda folder: folder.name)
def test_told_rows_add_up(folder: Path) -> None:
    """The rows that expected.txt lists are those that its first lines count."""
    told = (folder / "expected.txt").read_text("utf-8").splitlines()
    listed = [line.split(":")[0].split(" ", 2)[2] for line in told if line.startswith("row ")]
    sheets = [line for line in told if line.startswith("[")]
    arrived: dict[str, int] = {}
    for head, counts in pairwise(told):
        if counts.startswith("  ") and " arrived: " in counts and ": known" not in head:
            of_kind = ", kind not known," not in head
            arrived[head.split(": ")[0]] = int(counts.split()[0]) if of_kind else 0
    assert len(listed) == sum(arrived.values())
    assert len(sheets) == len(arrived)


def test_the_files_that_are_no_text_are_made_as_committed() -> None:
    for name, content in made().items():
        assert (CASES / name).read_bytes() == content, name
