"""People who look at pages, on this machine alone: how long each page takes to come, whole.

Each person asks for a page a second, on a connection of their own. A page that comes late lets the
next one begin late, and the wait counts: time runs from the moment at which the page was due.
"""

import http.client
import random
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from statistics import quantiles

# What a person looks at: the address, drawn anew each time.
Draw = Callable[[random.Random], str]
EVERY_S = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody who looks at pages: their cookie, and kinds of page with how often each is drawn."""

    cookie: str
    pages: Mapping[str, tuple[int, Draw]]


@dataclass(slots=True)
class Seen:
    """Pages that came: their kind, seconds and bytes; and the addresses that failed."""

    pages: list[tuple[str, float, int]] = field(default_factory=list[tuple[str, float, int]])
    failed: list[str] = field(default_factory=list[str])

    def p95_ms(self, kind: str = "") -> float:
        """Return the 95th percentile in ms, of all pages or of one kind; 0 where none came."""
        took = [s for name, s, _ in self.pages if kind in ("", name)]
        if len(took) < 2:
            return round(sum(took) * 1000, 1)
        return round(quantiles(took, n=20, method="inclusive")[-1] * 1000, 1)

    def max_kb(self) -> float:
        """Return the largest page in kB of 1000 bytes, as sent."""
        return round(max((size for _, _, size in self.pages), default=0) / 1000, 1)

    def kinds(self) -> list[str]:
        """Return the kinds of page that came, the slowest first."""
        return sorted({name for name, _, _ in self.pages}, key=self.p95_ms, reverse=True)


def look(port: int, people: Sequence[Person], *, count: int, seconds: float, seed: int = 7) -> Seen:
    """Let so many people look at pages for some seconds, at loopback only; return what came."""
    seen, lock = Seen(), threading.Lock()
    start = time.perf_counter() + 0.2

    def one(number: int) -> None:
        person, draw = people[number % len(people)], random.Random(seed * 1000 + number)
        names = list(person.pages)
        weights = [person.pages[name][0] for name in names]
        link = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        # People do not press in step: each begins at a moment of their own within the second.
        due = start + draw.random() * EVERY_S
        while due < start + seconds:
            time.sleep(max(0.0, due - time.perf_counter()))
            (name,) = draw.choices(names, weights)
            address = person.pages[name][1](draw)
            size = _fetched(link, address, person.cookie)
            took = time.perf_counter() - due
            with lock:
                if size is None:
                    seen.failed.append(address)
                else:
                    seen.pages.append((name, took, size))
            due = max(due + EVERY_S, time.perf_counter())
        link.close()

    threads = [threading.Thread(target=one, args=(number,)) for number in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return seen


def _fetched(link: http.client.HTTPConnection, address: str, cookie: str) -> int | None:
    """Return how many bytes came for an address, or None where no page did."""
    try:
        link.request("GET", address, headers={"Cookie": cookie})
        answer = link.getresponse()
        body = answer.read()
    except (OSError, http.client.HTTPException):
        link.close()
        return None
    return len(body) if answer.status == 200 else None
