"""The whole service as it is started: what refuses it, and what goes on without Prefect."""

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from filelock import FileLock
from sqlalchemy import make_url

from pipeline.book.book import Book
from pipeline.cli.main import cli
from pipeline.errors import ServiceError
from pipeline.service.notes import folder, read_note
from pipeline.service.status import status
from pipeline.service.supervise import READY
from pipeline.service.up import prefect_env
from pipeline.verify import verify
from tests.service.conftest import WEIGHED, until
from tests.take.small import ask, sheet

ROOT = Path(__file__).parents[2]


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


def said(*words: object) -> tuple[int, str]:
    done = CliRunner().invoke(cli, [str(word) for word in words])
    return done.exit_code, done.stderr


@pytest.mark.parametrize("what", ["desk", "prefect"])
def test_a_port_in_use_is_named_with_what_to_do(book: Book, what: str) -> None:
    ports = {"desk": free_port(), "prefect": free_port()}
    with socket.socket() as other:
        other.bind(("127.0.0.1", ports[what]))
        other.listen()
        code, text = said(
            "up", book.path, "--desk-port", ports["desk"], "--prefect-port", ports["prefect"]
        )
    assert code == ServiceError.exit_code
    assert f"Port {ports[what]} on 127.0.0.1 cannot be used for {what}" in text
    assert f"{what}_port in service.toml" in text and "Traceback" not in text


def test_a_service_that_runs_already_is_not_started_twice(book: Book) -> None:
    with FileLock(folder(book) / ".lock"):
        code, text = said("up", book.path)
    assert code == ServiceError.exit_code
    assert "runs already. See: weighbook status" in text


def test_status_in_the_first_moment_of_a_service_says_that_nothing_is_ready_yet(book: Book) -> None:
    with FileLock(folder(book) / ".lock"):
        found = status(book)
    assert found.running and found.ready_after_s == {}
    assert found.memory_mib == {"supervisor": 0.0, "all": 0.0}


@pytest.fixture
def running(book: Book) -> Iterator[Book]:
    (book.path / "service.toml").write_text(
        f"[service]\ndesk_port = {free_port()}\nprefect_port = {free_port()}\n"
    )
    program = "from pipeline.cli import main; main()"
    process = subprocess.Popen(
        [sys.executable, "-c", program, "up", str(book.path)], cwd=ROOT, stdout=subprocess.DEVNULL
    )
    try:
        yield book
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(60)


def all_ready(book: Book) -> bool:
    parts = status(book).parts
    return bool(parts) and all(part["state"] == READY for part in parts.values())


@pytest.mark.long
def test_desk_and_inbox_go_on_while_prefect_is_gone_and_it_is_started_again(running: Book) -> None:
    until(lambda: all_ready(running), 180)
    found = status(running)
    assert set(found.ready_after_s) == {"desk", "prefect", "schedules", "all"}
    assert found.ready_after_s["all"] == max(found.ready_after_s.values()) > 0
    parts = ("supervisor", "desk", "prefect", "schedules")
    assert found.memory_mib["all"] == pytest.approx(sum(found.memory_mib[p] for p in parts), abs=1)
    desk = read_note(running, "up")["children"]["desk"]["pid"]
    os.kill(read_note(running, "up")["children"]["prefect"]["pid"], signal.SIGKILL)
    until(lambda: status(running).parts["prefect"]["restarts"] == 1, 60)
    assert any("prefect is not ready" in line for line in status(running).wrong)
    later = WEIGHED[0] | {"receipt_book": "K02", "day": "2026-05-12"}
    sheet(running.path / "inbox", "weighings_KES_2026-W20.csv", "weighings", [later])
    until(lambda: ask(running, "select count(*) from weighings")[0][0] == 2, 60)
    until(lambda: all_ready(running), 180)
    assert read_note(running, "up")["children"]["desk"]["pid"] == desk
    assert verify(running, rebuild=False)["ok"]


@pytest.mark.parametrize("name", ["ridge book", "100% ridge", "ridge?", "crête#2"])
def test_prefects_records_stand_in_the_book_whatever_its_folder_is_called(
    tmp_path: Path, name: str
) -> None:
    book = Book(tmp_path / name)
    book.path.mkdir()
    env = prefect_env(book, 4200)
    found = make_url(env["PREFECT_SERVER_DATABASE_CONNECTION_URL"])
    assert found.database == f"{env['PREFECT_HOME']}/prefect.db"
    assert Path(env["PREFECT_HOME"]).is_relative_to(book.path)
