"""Two at once, and killed half-way: one decision, one sheet, nothing lost."""

import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Generator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest

from pipeline.book.book import Book
from pipeline.desk.app import make_office
from pipeline.desk.pages import Office
from pipeline.verify import verify
from tests.desk.conftest import PASSWORD, PEOPLE, Desk, token
from tests.take.small import ask, sheet

pytestmark = pytest.mark.long

ROOT = Path(__file__).parents[2]


def test_of_two_managers_the_first_stands(desk: Desk) -> None:
    flag = next(
        row["flag"]
        for row in desk.office.desk.sight().queue().iter_rows(named=True)
        if row["rule"] == "net-not-gross-less-tare"
    )
    desk.office.accounts.set_password("Osk Vanner", PASSWORD)
    from pipeline.people import declare_person

    declare_person(desk.book, "Osk Vanner", roles=["manager"])
    desk.office.desk.look()
    answers: list[httpx.Response] = []

    def decides(name: str, action: str) -> None:
        with httpx.Client(base_url=desk.url, timeout=60, follow_redirects=True) as client:
            said = {"token": token(client.get("/sign-in").text), "name": name}
            client.post("/sign-in", data=said | {"password": PASSWORD})
            page = client.get(f"/flag/{flag}").text
            form = {"token": token(page), "action": action, "because": "as I see it"}
            start.wait()
            answers.append(client.post(f"/flag/{flag}/decide", data=form))

    start = threading.Barrier(2)
    both = [
        threading.Thread(target=decides, args=pair)
        for pair in ((PEOPLE["manager"], "count"), ("Osk Vanner", "leave-out"))
    ]
    for one in both:
        one.start()
    for one in both:
        one.join()
    assert sorted(answer.status_code for answer in answers) == [200, 422]
    refused = next(answer.text for answer in answers if answer.status_code == 422)
    assert "was decided on" in refused and "Take that back first." in refused
    assert [line.what for line in desk.book.journal().lines].count("decided") == 1


def test_the_same_sheet_sent_twice_at_once_is_one_sheet(desk: Desk, tmp_path: Path) -> None:
    path = sheet(
        tmp_path, "w_2026-W25.csv", "weighings", [{"day": "2026-06-15", "receipt_no": "71"}]
    )
    numbers: list[str] = []

    def sends() -> None:
        with desk.client("clerk") as client:
            form = {"token": token(client.get("/sheets").text)}
            answer = client.post(
                "/sheets", data=form, files={"sheet": (path.name, path.read_bytes())}
            )
            numbers.append(answer.headers["location"].rpartition("/")[2])

    both = [threading.Thread(target=sends) for _ in range(2)]
    for one in both:
        one.start()
    for one in both:
        one.join()
    found = [desk.wait(number)["results"] for number in numbers]
    assert sorted(one[0]["status"] for one in found) == ["known", "taken"]  # type: ignore[index]
    assert ask(desk.book, "select count(*) from weighings where receipt_no = 71") == [(1,)]


def test_what_is_too_large_or_badly_named_gets_a_sentence(desk: Desk) -> None:
    with desk.client("clerk") as client:
        form = {"token": token(client.get("/sheets").text)}
        for name in ("../../book.toml", "a\\b.csv", "..", "x" * 300):
            answer = client.post("/sheets", data=form, files={"sheet": (name, b"a,b")})
            assert answer.status_code == 422 and "Back</a>" in answer.text, name
        assert client.post("/sheets", data=form).status_code == 422
        answer = client.post("/my/code", content=b"x" * (2 << 20))
        assert answer.status_code == 413 and "Go back" in answer.text
    assert not list((desk.book.path / "inbox" / "desk").iterdir())


SERVE = """
import sys
from pathlib import Path
from pipeline.book.book import Book
from pipeline.desk import app, work
if sys.argv[3:] == ["never"]:
    # As long as a very large sheet takes.
    work.take = lambda *a, **k: __import__("time").sleep(60)
import uvicorn
office = app.make_office(Book(Path(sys.argv[1])), quick_hashes=True)
token = office.accounts.new_token("station", "send", at="now")
print(token, flush=True)
uvicorn.run(app.make_app(office), host="127.0.0.1", port=int(sys.argv[2]), log_level="error")
"""


@contextmanager
def sent_to_a_desk(book: Book, path: Path, *how: str) -> Generator[tuple[str, str, dict[str, str]]]:
    """Send a sheet to a desk in a process of its own, which is killed at the end.

    Gives the number of the job, the address and what it takes to be let in.
    """
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    served = subprocess.Popen(
        [sys.executable, "-c", SERVE, str(book.path), str(port), *how],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert served.stdout is not None
        held = {"authorization": f"Bearer {served.stdout.readline().strip()}"}
        url = f"http://127.0.0.1:{port}/api/sheets"
        content = path.read_bytes()
        for _ in range(400):
            try:
                sent = httpx.post(url, params={"name": path.name}, content=content, headers=held)
                break
            except httpx.ConnectError:
                time.sleep(0.05)
        assert sent.status_code == 202
        yield sent.json()["number"], url, held
    finally:
        served.send_signal(signal.SIGKILL)
        served.wait()


def gone_on(book: Book, number: str) -> Office:
    """Start again after a kill, and wait until the job is over."""
    office = make_office(book, quick_hashes=True)
    office.work.start()
    job = None
    for _ in range(1200):
        job = office.work.job(number)
        if job is not None and job.over:
            break
        time.sleep(0.05)
    office.work.stop()
    assert job is not None and job.over and not job.trouble
    assert not list((book.path / "inbox" / "desk").iterdir())
    return office


def test_killed_in_mid_upload_nothing_acknowledged_is_lost(filled: Book, tmp_path: Path) -> None:
    book = Book(shutil.copytree(filled.path, tmp_path / "book"))
    path = sheet(
        tmp_path, "w_2026-W26.csv", "weighings", [{"day": "2026-06-22", "receipt_no": "81"}]
    )
    with sent_to_a_desk(book, path, "never") as (number, url, held):
        # Another one is under way when the process is killed: it was never acknowledged.
        threading.Thread(target=_slowly, args=(url, held), daemon=True).start()
        time.sleep(0.3)
    office = gone_on(book, number)
    assert ask(book, "select state from weighings where receipt_no = 81") == [("counted",)]
    sheets = [one["name"] for one in office.desk.look().generations["2026"].sheets.values()]
    assert sheets.count(path.name) == 1 and "half.csv" not in sheets


@pytest.mark.parametrize("after_s", [0.0, 0.2, 0.5, 1.0, 2.0])
def test_killed_inside_the_taking_of_an_upload_it_is_one_sheet_whole(
    filled: Book, tmp_path: Path, after_s: float
) -> None:
    """The real work is cut off wherever it is: reading, the journal, the season, the answer."""
    book = Book(shutil.copytree(filled.path, tmp_path / "book"))
    rows = [{"day": "2026-06-22", "receipt_no": str(n)} for n in range(1001, 2001)]
    path = sheet(tmp_path, "w_2026-W26.csv", "weighings", rows)
    with sent_to_a_desk(book, path) as (number, _, _):
        time.sleep(after_s)
    gone_on(book, number)
    assert ask(
        book,
        "select count(*), count(distinct receipt_no) from weighings "
        "where receipt_no between 1001 and 2000 and state = 'counted'",
    ) == [(1000, 1000)]
    taken = [
        entry["name"]
        for line in book.journal().lines
        if line.what == "taken"
        for entry in line.body["sheets"]
    ]
    assert taken.count(path.name) == 1
    assert verify(book)["ok"]


def _slowly(url: str, held: dict[str, str]) -> None:
    def parts():
        yield b"Station,Date\n"
        time.sleep(30)

    try:
        httpx.post(url, params={"name": "half.csv"}, content=parts(), headers=held, timeout=5)
    except httpx.HTTPError:
        pass
