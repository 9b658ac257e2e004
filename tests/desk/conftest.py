"""A desk over a small book, served in a thread, with an account of every role."""

import re
import shutil
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import httpx
import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page

from pipeline.book.book import Book
from pipeline.desk.app import make_app, make_office
from pipeline.desk.pages import Office
from tests.take.small import ASHA, BEMI, CORO, SETTINGS, made, registers, sheet, taken

PASSWORD = "four words apart"
# Only here, since a role and a name in a test are read together.
PEOPLE = {
    "clerk": "Lio Tessan",
    "manager": "Mira Tolm",
    "treasurer": "Sefu Aldane",
    "chair": "Dana Oreel",
    "trainer": "Tam Orr",
    "auditor": "Ada Brun",
}
DECLARED = SETTINGS + "".join(
    f'\n[[person]]\nname = "{name}"\nroles = ["{role}"]\n'
    + ('stations = ["KES"]\n' if role == "clerk" else "")
    for role, name in PEOPLE.items()
)
OFF = {"gross_kg": "61.25", "tare_kg": "1.25"}
WEIGHED = [
    {"receipt_no": "1"},
    {"receipt_no": "2", "net_kg": "61.2"},
    {"receipt_no": "3", "gross_kg": "6l.2", "member_no": BEMI},
    *({"receipt_no": str(n), "member_no": CORO} | OFF for n in (4, 5, 6)),
]
ARDOLO = {"station": "ARD", "receipt_book": "A01", "scale": "ARD-1", "recorder": "Nia Sorel"}


def small_book(folder: Path) -> Book:
    """Registers, a week at two stations with doubtful rows, a later version, visits, payments."""
    book = made(folder / "book", DECLARED)
    first = sheet(folder, "weighings_KES_2026-W18.csv", "weighings", [{"day": "2026-04-28"}])
    taken(
        book,
        *registers(folder),
        sheet(folder, "weighings_KES_2026-W19.csv", "weighings", WEIGHED),
        sheet(folder, "weighings_ARD_2026-W19.csv", "weighings", [ARDOLO, ARDOLO | {"line": "2"}]),
        first,
        sheet(folder, "payments_2026-W19.csv", "payments", [{}]),
        sheet(
            folder,
            "visits_2026-W19.csv",
            "visits",
            [
                {
                    "member_no": ASHA,
                    "day": "2026-05-05",
                    "finding": "mulch is thin",
                    "agreed": "mulch before the rains",
                    "follow_up_on": "2026-06-01",
                    "recorder": "Tam Orr",
                }
            ],
        ),
    )
    moved = {"day": "2026-04-29"}
    taken(book, sheet(folder, "weighings_KES_2026-W18_b.csv", "weighings", [moved]))
    return book


@dataclass
class Desk:
    """A served desk: its address, its book and its office."""

    url: str
    office: Office
    server: uvicorn.Server

    @property
    def book(self) -> Book:
        return self.office.desk.book

    @contextmanager
    def client(self, role: str = "") -> Iterator[httpx.Client]:
        """A client that is signed in under a role; "" is nobody."""
        with httpx.Client(base_url=self.url, timeout=60, follow_redirects=True) as client:
            if role == "member":
                code = self.office.accounts.member_code(ASHA, by="test", at="2026", proxy="test")
                page = client.get(f"/m/{code}").text
                client.post("/my/code", data={"token": token(page), "code": code})
            elif role:
                page = client.get("/sign-in").text
                said = {"token": token(page), "name": PEOPLE[role], "password": PASSWORD}
                assert client.post("/sign-in", data=said).status_code == 200
            client.follow_redirects = False
            yield client

    def wait(self, number: str) -> dict[str, object]:
        """Wait until what was sent is taken."""
        for _ in range(600):
            job = self.office.work.job(number)
            if job is not None and job.over:
                return {"state": job.state, "results": job.results, "trouble": job.trouble}
            time.sleep(0.05)
        raise AssertionError("not taken in time")


def token(page: str) -> str:
    """The form token on a page."""
    found = re.search(r'name="token" value="([^"]+)"', page)
    assert found, page[:400]
    return found[1]


def served(book: Book) -> Desk:
    """Serve a book in a thread of this process."""
    office = make_office(book, quick_hashes=True)
    for name in PEOPLE.values():
        office.accounts.set_password(name, PASSWORD)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = uvicorn.Server(
        uvicorn.Config(make_app(office), host="127.0.0.1", port=port, log_level="error")
    )
    threading.Thread(target=server.run, daemon=True).start()
    while not server.started:
        time.sleep(0.02)
    return Desk(f"http://127.0.0.1:{port}", office, server)


@pytest.fixture(scope="session")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Book:
    return small_book(tmp_path_factory.mktemp("desk"))


@pytest.fixture(scope="module")
def desk(filled: Book, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """A desk over a copy of the book, for the tests of a module."""
    one = served(Book(shutil.copytree(filled.path, tmp_path_factory.mktemp("served") / "book")))
    yield one
    one.server.should_exit = True
    one.office.work.stop()


Opened = Callable[..., Page]


@pytest.fixture
def opened(desk: Desk, chromium: Browser) -> Iterator[Opened]:
    """Opens a page as somebody; a fault in a page or its script fails the test."""
    contexts: list[BrowserContext] = []
    faults: list[str] = []

    def page_of(role: str, path: str = "/", *, width: int = 1280, script: bool = True) -> Page:
        context = chromium.new_context(
            viewport={"width": width, "height": 800}, java_script_enabled=script
        )
        contexts.append(context)
        with desk.client(role) as client:
            context.add_cookies(
                [
                    {"name": c.name, "value": c.value or "", "url": desk.url}
                    for c in client.cookies.jar
                ]
            )
        page = context.new_page()
        page.set_default_timeout(60_000)
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", lambda told: faults.append(told.text) if told.type == "error" else None)
        page.on("request", lambda asked: faults.append(asked.url) if not _own(asked.url) else None)
        page.goto(desk.url + path)
        return page

    def _own(url: str) -> bool:
        return url.startswith((desk.url, "blob:", "data:"))

    yield page_of
    for context in contexts:
        context.close()
    # What the line did on purpose, and pages that say no, are no faults.
    meant = ("ERR_INTERNET_DISCONNECTED", *(f"status of {said}" for said in (401, 404, 409, 422)))
    assert not [fault for fault in faults if not any(word in fault for word in meant)]
