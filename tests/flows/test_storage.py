"""Storage that speaks S3, on a real server on loopback: books of a union, its report, backups."""

import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest

from pipeline.backup.backup import back_up, snapshots
from pipeline.backup.place import Place
from pipeline.backup.restore import restore
from pipeline.book.book import Book
from pipeline.errors import BackupError, ServiceError
from pipeline.storage import opened
from pipeline.union.report import books_in, write_report
from pipeline.union.summary import TABLES, summarise
from tests.take.small import made, registers, sheet, tables, taken

KEY = "a passphrase of the test"
BUCKET = "coop"


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A server that speaks S3, with one bucket; its environment is what a user would set."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port = one.getsockname()[1]
    folder, address = tmp_path_factory.mktemp("s3"), f"http://127.0.0.1:{port}"
    command = [sys.executable, "-m", "localbucket", str(folder), "--port", str(port)]
    with subprocess.Popen(command, stderr=subprocess.DEVNULL) as process:
        try:
            _ask(f"{address}/{BUCKET}", "PUT", process)
            yield address
        finally:
            process.kill()


def _ask(url: str, method: str, process: "subprocess.Popen[bytes]") -> None:
    end = time.monotonic() + 60
    while True:
        try:
            urlopen(Request(url, method=method)).close()
            return
        except HTTPError:
            raise
        except OSError:
            assert process.poll() is None and time.monotonic() < end, "no server"
            time.sleep(0.1)


@pytest.fixture(autouse=True)
def environment(server: str, monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in (
        ("AWS_ACCESS_KEY_ID", "test"),
        ("AWS_SECRET_ACCESS_KEY", "test"),
        ("AWS_REGION", "us-east-1"),
        ("AWS_ALLOW_HTTP", "true"),
        ("AWS_ENDPOINT_URL", server),
    ):
        monkeypatch.setenv(name, value)


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    folder = tmp_path_factory.mktemp("ridge")
    book = made(folder / "ridge")
    taken(book, *registers(folder), sheet(folder, "w.csv", "weighings", [{}]))
    return book


def upload(book: Book, name: str) -> str:
    where = f"s3://{BUCKET}/books/{name}"
    fs, root = opened(where)
    for path in book.path.rglob("*"):
        if path.is_file() and path.suffix != ".duckdb" and "seasons" not in path.parts:
            fs.pipe_file(f"{root}/{path.relative_to(book.path).as_posix()}", path.read_bytes())
    return where


def test_books_in_a_bucket_give_what_they_give_in_their_folders(book: Book, tmp_path: Path) -> None:
    """Their summaries and report go into the bucket too; a second run writes nothing."""
    others = [shutil.copytree(book.path, tmp_path / "books" / name) for name in ("crest", "ridge")]
    addresses = [upload(Book(path), path.name) for path in others]
    assert books_in(f"s3://{BUCKET}/books") == addresses
    here, there = str(tmp_path / "out"), f"s3://{BUCKET}/union"
    alone = write_report(here, [summarise(str(path), here) for path in others])
    scratch = str(tmp_path / "scratch")
    done = [summarise(one, there, scratch) for one in addresses]
    assert [one.trouble for one in done] == ["", ""]
    assert write_report(there, done) == alone and alone["books"] == 2
    fs, root = opened(there)
    for table in TABLES:
        for name in ("crest", "ridge"):
            content = Path(here, table, f"{name}.parquet").read_bytes()
            assert bytes(fs.cat_file(f"{root}/{table}/{name}.parquet")) == content
    written = {name: one["e_tag"] for name, one in fs.find(root, detail=True).items()}
    write_report(there, [summarise(one, there, scratch) for one in addresses])
    assert {name: one["e_tag"] for name, one in fs.find(root, detail=True).items()} == written


def test_a_backup_in_a_bucket_comes_back(book: Book, tmp_path: Path) -> None:
    where = f"s3://{BUCKET}/backup"
    done = back_up(book, where, key=KEY)
    assert back_up(book, where, key=KEY).new_objects <= 1
    assert snapshots(Place(where))[0] == done.snapshot
    back = restore(where, tmp_path / "back", key=KEY)
    assert back.journal_n == done.journal_n
    assert tables(Book(back.book), "member_season") == tables(book, "member_season")


def test_a_piece_that_was_changed_in_the_bucket_is_noticed(book: Book, tmp_path: Path) -> None:
    where = f"s3://{BUCKET}/spoilt"
    back_up(book, where, key=KEY)
    fs, root = opened(where)
    name = max(fs.find(f"{root}/objects", detail=True).items(), key=lambda one: one[1]["size"])[0]
    raw = bytes(fs.cat_file(name))
    fs.pipe_file(name, raw[:-1] + bytes([raw[-1] ^ 1]))
    with pytest.raises(BackupError, match=r"damaged|cannot be opened"):
        restore(where, tmp_path / "back", key=KEY)
    assert not (tmp_path / "back").exists()


def test_storage_out_of_reach_is_told_in_one_sentence_and_the_book_is_as_it_was(
    book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = book.journal().head
    monkeypatch.setenv("AWS_ENDPOINT_URL", "http://127.0.0.1:9")
    with pytest.raises(BackupError, match=r"cannot be .*: .* Is it within reach") as told:
        back_up(book, "s3://away/backup")
    assert "\n" not in str(told.value)
    with pytest.raises(ServiceError, match="Is it within reach"):
        books_in("s3://away/books")
    found = summarise("s3://away/books/ridge", str(tmp_path), str(tmp_path / "scratch"))
    assert "Is it within reach" in found.trouble and found.journal_n == 0
    assert book.journal().head == before


def test_a_bucket_that_is_not_there_is_named(book: Book, tmp_path: Path) -> None:
    with pytest.raises(BackupError, match="s3://nowhere/backup"):
        back_up(book, "s3://nowhere/backup")
    found = summarise(f"s3://{BUCKET}/books/none", str(tmp_path), str(tmp_path / "scratch"))
    assert "Look whether the disk or bucket is still there" in found.trouble
