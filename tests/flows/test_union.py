"""The union on a real Dask scheduler: a worker killed in mid-run costs no row and no figure."""

import json
import shutil
from datetime import date
from pathlib import Path

import pytest

from pipeline.book.book import new_book
from pipeline.errors import ServiceError
from pipeline.keep import keep_by_day
from pipeline.trial.crash_sheets import registers, settings, week_sheet
from pipeline.trial.union import kill_one, measure_union, same
from pipeline.union.report import books_in, write_report
from pipeline.union.summary import summarise
from tests.service.conftest import until

ROOT = Path(__file__).parents[2]
BOOKS = 8
AT = "2026-07-01T00:00:00Z"


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Books that each hold other weeks; no season of them is worked out yet."""
    top, sheets = tmp_path_factory.mktemp("books"), tmp_path_factory.mktemp("sheets")
    for n in range(BOOKS):
        book = new_book(top / f"book-{n:02d}", settings(), "2026-03-30T06:00:00Z")
        weeks = [week_sheet(sheets, f"w{turn}.csv", turn) for turn in range(n, n + 3)]
        days = [(date(2026, 4, 1), registers(sheets)), (date(2026, 6, 1), weeks)]
        keep_by_day(book, days, by="clerk", at=AT)
    return top


@pytest.fixture(scope="module")
def alone(books: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What the plain functions give, one book after the other."""
    out = tmp_path_factory.mktemp("alone")
    write_report(str(out), [summarise(book, str(out)) for book in books_in(str(books))])
    return out


@pytest.mark.long
def test_a_book_in_storage_gives_what_it_gives_in_its_folder(books: Path, tmp_path: Path) -> None:
    folder = books_in(str(books))[0]
    beside, there = tmp_path / "beside", tmp_path / "there"
    # What a killed worker left of a summary.
    part = beside / "seasons" / ".part-book-00.parquet"
    part.mkdir(parents=True)
    (part / ".part-0").write_bytes(b"half")
    assert summarise(folder, str(beside)).trouble == ""
    assert not list(beside.rglob(".part-*"))
    assert summarise(f"file://{folder}", str(there), str(tmp_path / "scratch")).trouble == ""
    before = (beside / "seasons" / "book-00.parquet").read_bytes()
    assert before == (there / "seasons" / "book-00.parquet").read_bytes()
    told = summarise(str(tmp_path / "nowhere"), str(beside))
    assert told.trouble


@pytest.mark.slow
def test_a_worker_killed_in_mid_run_costs_no_row(
    prefect_server: None, books: Path, alone: Path, tmp_path: Path
) -> None:
    out = tmp_path / "union"
    assert kill_one(books, out, 2) == (1, True)
    assert same(out, alone)
    report = json.loads((out / "report.json").read_text("utf-8"))
    assert (report["books"], report["not_read"]) == (BOOKS, {})
    assert [one["book"] for one in report["by_book"]] == [f"book-{n:02d}" for n in range(BOOKS)]


@pytest.mark.long
def test_the_trial_draws_runs_kills_and_compares(prefect_server: None) -> None:
    found = measure_union(2, 100, 2)
    assert found.rows_equal and found.unchanged and found.gain > 0
    assert (found.books, found.killed, found.workers) == (2, 1, 2)


@pytest.mark.long
def test_what_cannot_begin_says_why(books: Path, tmp_path: Path) -> None:
    from pipeline.flows.union import run_union

    with pytest.raises(ServiceError, match="There is no book below"):
        run_union(str(tmp_path), str(tmp_path / "out"))
    with pytest.raises(ServiceError, match="cannot be reached"):
        run_union(str(books), str(tmp_path / "out"), scheduler="tcp://127.0.0.1:9")


@pytest.mark.long
def test_a_worker_of_another_version_is_refused_and_so_is_a_scheduler_without_worker(
    books: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from pipeline.flows.cluster import cluster
    from pipeline.flows.union import run_union

    for package in ("pipeline", "checks", "reports"):
        shutil.copytree(ROOT / package, tmp_path / "other" / package)
    with (tmp_path / "other" / "checks" / "limits.toml").open("a") as limits:
        limits.write("# of another version\n")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path / "other"))
    out = tmp_path / "out"
    with cluster(1) as at:
        with pytest.raises(ServiceError, match=r"is of another version .* Install the same on all"):
            run_union(str(books), str(out), scheduler=at.address)
        at.kill(0)
        until(lambda: not at.ask(int))
        with pytest.raises(ServiceError, match=r"has no worker. Start some with: dask worker tcp"):
            run_union(str(books), str(out), scheduler=at.address)
    assert not list(out.rglob("*.parquet"))
