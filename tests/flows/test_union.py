"""The union on a real Dask scheduler: a worker killed in mid-run costs no row and no figure."""

from pathlib import Path

import pytest

from pipeline.book.book import Book, new_book
from pipeline.errors import ServiceError
from pipeline.take import take
from pipeline.trial.crash_sheets import registers, settings, week_sheet
from pipeline.trial.union import measure_union
from pipeline.union.report import books_in
from pipeline.union.summary import summarise

BOOKS = 2


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Books that each hold other weeks, without their season files."""
    top, sheets = tmp_path_factory.mktemp("books"), tmp_path_factory.mktemp("sheets")
    for n in range(BOOKS):
        book = new_book(top / f"book-{n:02d}", settings(), "2026-03-30T06:00:00Z")
        weeks = [week_sheet(sheets, f"w{turn}.csv", turn) for turn in range(n, n + 3)]
        take(book, [*registers(sheets), *weeks], by="clerk", at="2026-07-01T00:00:00Z")
        without_seasons(book)
    return top


def without_seasons(book: Book) -> None:
    for path in book.seasons.iterdir():
        if path.is_file():
            path.unlink()


@pytest.mark.long
def test_a_book_in_storage_gives_what_it_gives_in_its_folder(books: Path, tmp_path: Path) -> None:
    folder = books_in(str(books))[0]
    beside, there = tmp_path / "beside", tmp_path / "there"
    assert summarise(folder, str(beside)).trouble == ""
    assert summarise(f"file://{folder}", str(there), str(tmp_path / "scratch")).trouble == ""
    before = (beside / "seasons" / "book-00.parquet").read_bytes()
    assert before == (there / "seasons" / "book-00.parquet").read_bytes()
    told = summarise(str(tmp_path / "nowhere"), str(beside))
    assert told.trouble


@pytest.mark.long
def test_a_worker_killed_in_mid_run_costs_no_row(prefect_server: None) -> None:
    found = measure_union(8, 100, 2)
    assert found.rows_equal and found.unchanged
    assert (found.books, found.killed, found.workers) == (8, 1, 2)


@pytest.mark.long
def test_what_cannot_begin_says_why(books: Path, tmp_path: Path) -> None:
    from pipeline.flows.union import run_union

    with pytest.raises(ServiceError, match="There is no book below"):
        run_union(str(tmp_path), tmp_path / "out")
    with pytest.raises(ServiceError, match="cannot be reached"):
        run_union(str(books), tmp_path / "out", scheduler="tcp://127.0.0.1:9")
