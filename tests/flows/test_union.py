"""The union on a real Dask scheduler: a worker killed in mid-run costs no row and no figure."""

import contextlib
import json
import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from pipeline.book.book import Book, new_book
from pipeline.errors import ServiceError
from pipeline.take import take
from pipeline.trial.crash_sheets import registers, settings, week_sheet
from pipeline.union.report import books_in, write_report
from pipeline.union.summary import TABLES, summarise

BOOKS = 8


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


def alone(books: Path, out: Path) -> None:
    """What the union is to come to: the plain functions, one book after the other."""
    out.mkdir()
    write_report(out, [summarise(book, str(out)) for book in books_in(str(books))])


def same(one: Path, other: Path) -> None:
    for table in TABLES:
        names = sorted(path.name for path in (one / table).iterdir())
        assert len(names) == BOOKS
        for name in names:
            assert_frame_equal(*(pl.read_parquet(out / table / name) for out in (one, other)))
    assert (one / "report.json").read_bytes() == (other / "report.json").read_bytes()


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


@pytest.fixture
def dask(tmp_path: Path) -> Iterator[tuple[str, list["subprocess.Popen[bytes]"]]]:
    """A scheduler and two workers, each a process of its own with its nanny."""
    note = tmp_path / "scheduler.json"
    program = [sys.executable, "-m", "distributed.cli.dask_scheduler"]
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    at = ["--host", "127.0.0.1", "--port", "0", "--no-dashboard"]
    scheduler = subprocess.Popen([*program, *at, "--scheduler-file", str(note)], **quiet)
    worker = [sys.executable, "-m", "distributed.cli.dask_worker", "--nthreads", "1"]
    worker += ["--scheduler-file", str(note), "--no-dashboard"]
    workers = [subprocess.Popen(worker, start_new_session=True, **quiet) for _ in range(2)]
    end = time.monotonic() + 120
    while not note.exists() and time.monotonic() < end:
        time.sleep(0.1)
    from dask.distributed import Client

    address = json.loads(note.read_text())["address"]
    with Client(address) as client:
        client.wait_for_workers(2, timeout=120)
    yield address, workers
    for process in (*workers, scheduler):
        with contextlib.suppress(ProcessLookupError):
            if process is scheduler:
                process.kill()
            else:
                os.killpg(process.pid, signal.SIGKILL)
        process.wait(10)


@pytest.mark.long
def test_a_worker_killed_in_mid_run_costs_no_row(
    prefect_server: None,
    books: Path,
    dask: tuple[str, list["subprocess.Popen[bytes]"]],
    tmp_path: Path,
) -> None:
    from pipeline.flows.union import run_union

    address, workers = dask
    copy = tmp_path / "copy"
    shutil.copytree(books, copy)
    alone(copy, tmp_path / "alone")
    for folder in books_in(str(books)):
        without_seasons(Book(Path(folder)))
    out = tmp_path / "out"
    killed: list[int] = []

    def kill_one() -> None:
        # In mid-run: once the first book's summaries are there, the worker and its nanny go.
        while not (out / "accounts").is_dir() or not any((out / "accounts").iterdir()):
            time.sleep(0.02)
        os.killpg(workers[0].pid, signal.SIGKILL)
        killed.append(workers[0].pid)

    killer = threading.Thread(target=kill_one, daemon=True)
    killer.start()
    report = run_union(str(books), out, scheduler=address, a_task=1)
    killer.join(10)
    assert killed and report["books"] == BOOKS and report["not_read"] == {}
    same(out, tmp_path / "alone")
    before = {path: path.stat().st_mtime_ns for path in out.rglob("*.parquet")}
    run_union(str(books), out, scheduler=address, a_task=3)
    assert {path: path.stat().st_mtime_ns for path in out.rglob("*.parquet")} == before
    same(out, tmp_path / "alone")


@pytest.mark.long
def test_what_cannot_begin_says_why(books: Path, tmp_path: Path) -> None:
    from pipeline.flows.union import run_union

    with pytest.raises(ServiceError, match="There is no book below"):
        run_union(str(tmp_path), tmp_path / "out")
    with pytest.raises(ServiceError, match="cannot be reached"):
        run_union(str(books), tmp_path / "out", scheduler="tcp://127.0.0.1:9")
