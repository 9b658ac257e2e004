"""How quick the desk is over a large season: pages for people at once, and an upload of a week."""

import http.client
import os
import re
import secrets
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Generator
from contextlib import contextmanager
from pathlib import Path
from random import Random
from typing import Any
from urllib.parse import quote, urlencode

from pipeline.bench.desk_book import PASSWORD, PEOPLE, SEASON, DeskBook, make_desk_book
from pipeline.bench.load import Draw, Person, Seen, look
from pipeline.season.generations import must_have
from pipeline.season.tables import connect, rows

GOAL_MS = 120.0
PEOPLE_AT_ONCE, SECONDS = 20, 30
# How many times as many people are let in, step by step, to find the highest rate that is held.
STEPS = (1, 2, 3, 4, 6, 8, 12, 16)
STEP_SECONDS = 10
WAIT_S = 900.0
WARM_S = 20.0
# How long the desk may take to open the book.
START_S = 300.0


def measure_desk(
    *,
    members: int,
    deliveries: int,
    flags: int,
    seconds: int = SECONDS,
    told: Callable[[str], None] = lambda _: None,
) -> dict[str, Any]:
    """Draw a season, take it, and measure its desk: see `measure`."""
    with tempfile.TemporaryDirectory(prefix="weighbook-bench-") as name:
        told(f"drawing and taking a season of {members:,} members")
        made = make_desk_book(Path(name), members=members, deliveries=deliveries, flags=flags)
        return measure(made, seconds=seconds, told=told) | {"deliveries": deliveries}


def measure(
    made: DeskBook, *, seconds: int = SECONDS, told: Callable[[str], None] = lambda _: None
) -> dict[str, Any]:
    """Measure the desk of a book, in a process of its own; the load comes from this process.

    `p95_ms`: of all pages, 20 people at a page a second each; `held_pages_s`: the highest rate at
    which the 95th percentile stays at most 120 ms; `max_page_kb`: the largest page; `upload_s`:
    from sending the week's sheets until a page shows them read; `worked_in_s`: until every row has
    its state; `p95_ms_meanwhile`: of the 20 people's pages while it is worked in.
    """
    began = time.perf_counter()
    with _served(made) as port:
        start_s = time.perf_counter() - began
        cookies = {role: _signed_in(port, role, made) for role in (*PEOPLE, *made.codes)}
        people = _people(made, cookies)
        # The desk reads the latest sheets beforehand: a working day does not begin with a load.
        look(port, people, count=len(people), seconds=WARM_S, seed=1)
        told(f"{PEOPLE_AT_ONCE} people, a page a second each, {seconds} s")
        seen = look(port, people, count=PEOPLE_AT_ONCE, seconds=seconds)
        held = _held(port, people, told)
        told("an upload while people look")
        upload, meanwhile = _upload(port, cookies["clerk"], made, people)
    return {
        "ok": seen.p95_ms() <= GOAL_MS and not seen.failed,
        "p95_ms": seen.p95_ms(),
        "max_page_kb": max(seen.max_kb(), meanwhile.max_kb()),
        **upload,
        "held_pages_s": round(held, 1),
        "p95_ms_meanwhile": meanwhile.p95_ms(),
        "start_s": round(start_s, 2),
        "pages": len(seen.pages),
        "failed": (seen.failed + meanwhile.failed)[:10],
        "p95_ms_by_page": {name: seen.p95_ms(name) for name in seen.kinds()},
        "members": made.members,
        "weighings": made.weighings,
        "open_flags": made.open_flags,
        "statements": len(made.codes),
        "cores": os.cpu_count(),
    }


def _held(port: int, people: list[Person], told: Callable[[str], None]) -> float:
    """Return the highest rate, pages a second, at which no page fails and the goal is kept."""
    held = 0.0
    for step in STEPS:
        count = PEOPLE_AT_ONCE * step
        seen = look(port, people, count=count, seconds=STEP_SECONDS, seed=2 + step)
        rate = len(seen.pages) / STEP_SECONDS
        told(f"{count} people: {rate:.0f} pages/s, p95 {seen.p95_ms()} ms")
        if seen.p95_ms() > GOAL_MS or seen.failed:
            break
        held = rate
    return held


@contextmanager
def _served(made: DeskBook) -> Generator[int]:
    """Serve the desk by its own command, on a free port of loopback."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    code = "from pipeline.cli.main import main; main()"
    words = ["desk", str(made.book.path), "--port", str(port)]
    desk = subprocess.Popen([sys.executable, "-c", code, *words], stdout=subprocess.DEVNULL)
    try:
        until = time.perf_counter() + START_S
        while not _answers(port):
            if desk.poll() is not None or time.perf_counter() > until:
                raise RuntimeError("The desk did not open the book.")
            time.sleep(0.05)
        yield port
    finally:
        desk.terminate()
        desk.wait()


def _answers(port: int) -> bool:
    try:
        return _get(port, "/sign-in").status == 200
    except OSError:
        return False


class _Answer:
    def __init__(self, answer: http.client.HTTPResponse) -> None:
        self.status = answer.status
        self.text = answer.read().decode(errors="replace")
        self.location = answer.getheader("location", "")
        self.cookie = (answer.getheader("set-cookie") or "").partition(";")[0]


def _get(port: int, address: str, cookie: str = "") -> _Answer:
    return _asked(port, "GET", address, b"", {"Cookie": cookie})


def _asked(port: int, method: str, address: str, body: bytes, headers: dict[str, str]) -> _Answer:
    link = http.client.HTTPConnection("127.0.0.1", port, timeout=WAIT_S)
    try:
        # What became of an upload is read off its page.
        link.request(method, address, body, {"Accept-Language": "en"} | headers)
        return _Answer(link.getresponse())
    finally:
        link.close()


def _token(page: str) -> str:
    found = re.search(r'name="token" value="([^"]+)"', page)
    if found is None:
        raise RuntimeError("A page of the desk has no form.")
    return found[1]


def _signed_in(port: int, who: str, made: DeskBook) -> str:
    """Sign somebody in, by role or by member number, and return the cookie."""
    address = "/sign-in" if who in PEOPLE else "/my/code"
    said = (
        {"name": PEOPLE[who], "password": PASSWORD} if who in PEOPLE else {"code": made.codes[who]}
    )
    form = urlencode({"token": _token(_get(port, address).text)} | said).encode()
    kind = {"Content-Type": "application/x-www-form-urlencoded"}
    answer = _asked(port, "POST", address, form, kind)
    if answer.status != 303:
        raise RuntimeError(f"{who} could not sign in.")
    return answer.cookie


def _people(made: DeskBook, cookies: dict[str, str]) -> list[Person]:
    """Return who looks at what: managers, clerks and others of the office, and members."""
    with connect(str(must_have(made.book, SEASON)), macros=True) as con:
        flags = [no for (no,) in rows(con, "select flag from flags where decision is null "
                                      "order by flag limit 5000")]  # fmt: skip
        sheets = [no for (no,) in rows(con, "select sheet_no from sheets where kind is not null "
                                       "order by sheet_no")]  # fmt: skip
        villages = [name for (name,) in rows(con, "select distinct village from members "
                                             "where village is not null order by 1")]  # fmt: skip
        names = [name for (name,) in rows(con, "select name from known_members "
                                          "order by member_no limit 500")]  # fmt: skip

    def any_of(text: str, values: list[Any]) -> Draw:
        return lambda draw: text + quote(str(draw.choice(values)) if values else "")

    def always(text: str) -> Draw:
        return lambda _: text

    def queue(draw: Random) -> str:
        return f"/queue?from={25 * draw.randrange(max(1, len(flags) // 25))}"

    flag, sheet = any_of("/flag/", flags), any_of("/sheet/", sheets)
    office = {
        "queue": (4, queue), "flag": (8, flag), "decisions": (1, always("/decisions")),
        "sheets": (2, always("/sheets")), "sheet": (2, sheet), "season": (2, always("/season")),
        "awaited": (1, always("/awaited")), "issue": (1, always("/issue")),
        "questions": (1, always("/questions")), "codes": (1, any_of("/codes?find=", names)),
    }  # fmt: skip
    clerk = {
        "sheets": (4, always("/sheets")), "sheet": (6, sheet), "awaited": (2, always("/awaited")),
        "type": (2, always("/type/weighings")), "codes": (1, any_of("/codes?find=", names)),
        "questions": (1, always("/questions")),
    }  # fmt: skip
    trainer = {
        "villages": (1, always("/villages")),
        "village": (3, any_of("/village/", villages)),
    }
    found = [Person(cookie=cookies["manager"], pages=office)] * 4
    found += [Person(cookie=cookies["clerk"], pages=clerk)] * 4
    looks = {name: page for name, page in office.items() if name != "codes"}
    found += [Person(cookie=cookies["auditor"], pages=looks)]
    found += [Person(cookie=cookies["trainer"], pages=trainer)]
    for number in list(made.codes)[:10]:
        own = any_of(f"/my/why/{SEASON}/{number}/", ["value", "balance", "gbe", "paid"])
        mine = {"my": (2, always("/my")), "why": (2, own)}
        found.append(Person(cookie=cookies[number], pages=mine))
    return found


def _upload(
    port: int, cookie: str, made: DeskBook, people: list[Person]
) -> tuple[dict[str, Any], Seen]:
    """Send the week's sheets and look until they are read, then until they are worked in."""
    body, kind = _parts({"token": _token(_get(port, "/sheets", cookie).text)}, made.upload)
    began = time.perf_counter()
    answer = _asked(port, "POST", "/sheets", body, {"Cookie": cookie, "Content-Type": kind})
    shown_s = worked_s = 0.0
    meanwhile = Seen()
    while not worked_s and time.perf_counter() < began + WAIT_S:
        page = _get(port, answer.location, cookie).text
        since = time.perf_counter() - began
        if not shown_s and all(path.name in _shown(page) for path in made.upload):
            shown_s = since
        if "<b>done</b>" in page:
            worked_s = since
        elif "<b>not done</b>" in page:
            raise RuntimeError("The upload was not taken.")
        elif shown_s:
            some = look(port, people, count=PEOPLE_AT_ONCE, seconds=2, seed=int(since * 10))
            meanwhile.pages += some.pages
            meanwhile.failed += some.failed
        else:
            time.sleep(0.02)
    return {
        "upload_s": round(shown_s, 2),
        "worked_in_s": round(worked_s, 2),
        "upload_rows": sum(path.read_bytes().count(b"\n") - 1 for path in made.upload),
        "upload_sheets": len(made.upload),
    }, meanwhile


def _shown(page: str) -> str:
    """Return the part of the page on which sheets stand whose rows were read."""
    return "".join(re.findall(r"<section>.*?</section>", page, re.S))


def _parts(fields: dict[str, str], files: tuple[Path, ...]) -> tuple[bytes, str]:
    """Return a form with files as a browser sends it (RFC 7578), and its content type."""
    edge = secrets.token_hex(16)
    parts = [
        f'--{edge}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'.encode()
        for name, value in fields.items()
    ]
    for path in files:
        head = f'form-data; name="sheet"; filename="{path.name}"\r\nContent-Type: text/csv'
        parts.append(f"--{edge}\r\nContent-Disposition: {head}\r\n\r\n".encode())
        parts += [path.read_bytes(), b"\r\n"]
    parts.append(f"--{edge}--\r\n".encode())
    return b"".join(parts), f"multipart/form-data; boundary={edge}"
