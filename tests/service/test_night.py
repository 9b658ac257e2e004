"""What the chores do on a book: nights with history, summary, reports, closing, messages."""

import json
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from typing import Any

import pytest

from pipeline.approve import approval, approve
from pipeline.book.book import Book
from pipeline.errors import DecisionError
from pipeline.service.chores import carry_out
from pipeline.service.config import service_settings
from pipeline.service.notes import read_lines, read_note
from pipeline.service.status import status
from pipeline.service.tell import tell
from tests.take.small import ask, sheet, taken

AFTER = "2026-10-20T08:00:00Z"


@pytest.fixture
def inbox() -> Iterator[tuple[str, list[dict[str, Any]]]]:
    """An address that takes messages, and those that came."""
    came: list[dict[str, Any]] = []

    class Takes(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            came.append(json.loads(self.rfile.read(int(self.headers["Content-Length"]))))
            self.send_response(200)
            self.end_headers()

        def log_message(self, *_: object) -> None:
            pass

    server = HTTPServer(("127.0.0.1", 0), Takes)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"json://127.0.0.1:{server.server_port}", came
    server.shutdown()
    server.server_close()


def test_a_night_checks_proves_and_backs_up_and_a_broken_promise_stops_the_backup(
    book: Book, tmp_path: Path
) -> None:
    disk = tmp_path / "disk"
    (book.path / "service.toml").write_text(f'[service]\nbackup = ["{disk}"]\n')
    done = carry_out(book, "nightly", "2026-06-01T03:00:00Z")
    assert done is not None and done.wrong == ()
    assert len(read_lines(book, "checks-2026")) == len(read_lines(book, "verify")) == 1
    (made,) = read_note(book, "backups").values()
    assert made["at"] == "2026-06-01T03:00:00Z"
    line = read_lines(book, "checks-2026")[0]
    assert line["journal_n"] == book.journal().head[0] and line["checks"] > 100
    kept = next((book.path / "sheets").iterdir())
    kept.write_bytes(kept.read_bytes() + b"x")
    bad = carry_out(book, "nightly", "2026-06-02T03:00:00Z")
    assert bad is not None and "A promise is broken, sheets kept" in bad.wrong[0]
    assert len(list((disk / "snapshots").iterdir())) == 1
    says = status(book, "2026-06-02T04:00:00Z").wrong
    assert any("A promise is broken" in line for line in says)


@pytest.mark.long
def test_the_summary_and_the_month_say_what_the_book_holds(book: Book, tmp_path: Path) -> None:
    week = carry_out(book, "weekly", "2026-05-11T08:00:00Z", even_if_done=True)
    assert week is not None and "60.0" in week.page and "USD" in week.page
    assert "No backup is declared" in week.page
    month = carry_out(book, "monthly", "2026-06-01T08:00:00Z", even_if_done=True)
    assert month is not None
    deliveries, minor = ask(book, "select count(*), sum(value_minor) from valued")[0]
    assert f"| {deliveries} | 1 | 60.0 |" in month.page and f"{minor / 100:.2f}" in month.page
    assert all(Path(file).stat().st_size > 500 for file in month.files[1:])


@pytest.mark.long
def test_statements_wait_for_approval_and_a_later_sheet_ends_it(book: Book, tmp_path: Path) -> None:
    first = carry_out(book, "closing", AFTER)
    assert first is not None and "wait for a manager" in first.wrong[0]
    assert any("group_report.pdf" in file for file in first.files)
    issued = [line for line in book.journal().lines if line.what == "issued"]
    assert issued == []
    line = approve(book, "2026", by="Mira Tolm", at=AFTER)
    assert approve(book, "2026", by="Mira Tolm", at=AFTER) == line
    late = {"receipt_no": "9", "moisture_pct": "11.4"}
    taken(book, sheet(tmp_path, "late.csv", "weighings", [late]))
    assert approval(book.journal(), "2026") is None
    again = carry_out(book, "closing", "2026-10-21T08:00:00Z")
    assert again is not None and "wait for a manager" in again.wrong[0]
    approve(book, "2026", by="Mira Tolm", at=AFTER)
    last = carry_out(book, "closing", "2026-10-22T08:00:00Z")
    assert last is not None and last.wrong == () and "statements" in last.says
    assert book.journal().lines[-1].what == "issued"
    assert book.journal().lines[-1].body["by"] == "Mira Tolm"
    lines = len(book.journal().lines)
    after = carry_out(book, "closing", "2026-10-23T08:00:00Z")
    assert after is not None and after.wrong == () and len(book.journal().lines) == lines


def test_only_manager_or_chair_approve_where_people_are_declared(book: Book) -> None:
    with book.settings_path.open("a") as file:
        file.write('\n[[person]]\nname = "Lio Tessan"\nroles = ["clerk"]\n')
    with pytest.raises(DecisionError, match="neither as manager nor as chair"):
        approve(book, "2026", by="Lio Tessan")
    with pytest.raises(DecisionError, match="needs a name"):
        approve(book, "2026", by=" ")


def test_a_trouble_is_told_once_until_it_ends(
    book: Book, inbox: tuple[str, list[dict[str, Any]]]
) -> None:
    address, came = inbox
    (book.path / "service.toml").write_text(f'[service]\nnotify = ["{address}"]\n')
    service = service_settings(book)
    for wrong in (["The disk is full."], ["The disk is full."], [], ["The disk is full."]):
        tell(book, service, "nightly", wrong, AFTER)
    assert [one["message"] for one in came] == ["The disk is full."] * 2
    assert came[0]["title"] == "Weighbook, book: nightly"
    assert [line["sent"] for line in read_lines(book, "messages")] == [True, True]


def test_a_message_that_cannot_be_sent_stops_nothing_and_is_told_with_the_next(
    book: Book, inbox: tuple[str, list[dict[str, Any]]]
) -> None:
    address, came = inbox
    (book.path / "service.toml").write_text('[service]\nnotify = ["json://127.0.0.1:9"]\n')
    assert not tell(book, service_settings(book), "nightly", ["It is full."], AFTER)
    (book.path / "service.toml").write_text(f'[service]\nnotify = ["{address}"]\n')
    assert tell(book, service_settings(book), "nightly", ["It is full."], AFTER)
    assert len(came) == 1


def test_status_names_a_clock_set_back_a_stuck_inbox_and_a_torn_line(book: Book) -> None:
    path = book.path / "journal.jsonl"
    with path.open("ab") as file:
        file.write(b'{"at":"2026-07')
    said = status(book, "2026-05-01T00:00:00Z").wrong
    assert any("Set the clock." in line for line in said)
    assert any("half a line" in line for line in said)
    assert any("does not run" in line for line in said)
    assert any("No backup is declared" in line for line in said)
