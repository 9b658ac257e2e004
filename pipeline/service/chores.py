"""The service's chores: what is done when, whether it is still due, and what came of it.

A chore is due where its last time has passed and the book does not say that it was done since. So a
time that was missed with the power off is made up once, and one that is called again ends at once.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from pipeline.book.book import Book
from pipeline.errors import BookError
from pipeline.service.config import ServiceSettings, last_time, service_settings
from pipeline.service.notes import read_note, write_note


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a chore did, in a sentence; `wrong`: what the manager has to know of.

    `table`: what it did line by line, for a record of the run; `page`: a text in Markdown.
    """

    says: str
    wrong: tuple[str, ...] = ()
    table: tuple[dict[str, Any], ...] = ()
    page: str = ""
    files: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Chore:
    """One chore: its name and what it is for, and the function that does it.

    `from_start`: due as soon as the service is first started; others wait for their first time.
    """

    name: str
    about: str
    do: Callable[[Book, ServiceSettings, str], Outcome]
    from_start: bool = False


def _inbox(book: Book, _: ServiceSettings, at: str) -> Outcome:
    from pipeline.inbox import take_inbox

    found = take_inbox(book, at=at)
    lines: tuple[dict[str, Any], ...] = tuple(
        {
            "sheet": one.sheet,
            "arrived": one.arrived,
            "counted": one.counted,
            "held": one.held,
            "sent_back": one.sent_back,
            "message": one.message,
        }
        for one in found.taken
    )
    return Outcome(says=f"{len(lines)} sheets lay in the inbox.", table=lines)


def _nightly(book: Book, settings: ServiceSettings, at: str) -> Outcome:
    from pipeline.service.nightly import nightly

    return nightly(book, settings, at)


def _weekly(book: Book, settings: ServiceSettings, at: str) -> Outcome:
    from pipeline.service.summary import weekly

    return weekly(book, settings, at)


def _monthly(book: Book, settings: ServiceSettings, at: str) -> Outcome:
    from pipeline.service.reports import monthly

    return monthly(book, settings, at)


def _closing(book: Book, settings: ServiceSettings, at: str) -> Outcome:
    from pipeline.service.closing import closing

    return closing(book, settings, at)


# What each does is imported when it is done: the list is read by what must start at once.
CHORES = {
    chore.name: chore
    for chore in (
        Chore(name="inbox", about="Take what still lies in the inbox", do=_inbox),
        Chore(
            name="nightly",
            about="Check and prove the book, and back it up",
            do=_nightly,
            from_start=True,
        ),
        Chore(name="weekly", about="Write the manager's summary of the week", do=_weekly),
        Chore(name="monthly", about="Write the month's report", do=_monthly),
        Chore(
            name="closing",
            about="Report on seasons that are over; issue their statements once approved",
            do=_closing,
            from_start=True,
        ),
    )
}


def instant(at: str) -> datetime:
    """Return a UTC instant from its text."""
    return datetime.strptime(at, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC)


def begin(book: Book, at: str) -> None:
    """Note when the service was first started for a book: what came before is not made up."""
    if not read_note(book, "since"):
        write_note(book, "since", {"at": at})


def due(book: Book, settings: ServiceSettings, name: str, at: str) -> datetime | None:
    """Return the time (civil) for which a chore is due now, or None where it is done."""
    local = settings.local(instant(at))
    slot = last_time(settings.times[name], local)
    done = read_note(book, f"done/{name}").get("slot", "")
    if done:
        last = datetime.fromisoformat(done)
        # Done in a future that never came: the clock was wrong then, or is now.
        astray = last > local + timedelta(days=1)
        return slot if astray or last < slot else None
    since = read_note(book, "since").get("at", "")
    if CHORES[name].from_start or not since or settings.local(instant(since)) <= slot:
        return slot
    return None


def carry_out(book: Book, name: str, at: str, *, even_if_done: bool = False) -> Outcome | None:
    """Do a chore where it is due, note what came of it, and return it; None where it was done.

    What fails is noted with its sentence and raised again: it stays due.
    """
    if name not in CHORES:
        raise BookError(f"There is no chore {name!r}. There are: {', '.join(CHORES)}.")
    settings = service_settings(book)
    slot = due(book, settings, name, at)
    if slot is None and not even_if_done:
        return None
    before = read_note(book, f"done/{name}")
    begun = time.monotonic()
    try:
        outcome = CHORES[name].do(book, settings, at)
    except Exception as error:
        failed = {"at": at, "ok": False, "says": str(error), "wrong": [str(error)]}
        write_note(book, f"done/{name}", failed | {"slot": before.get("slot", "")})
        raise
    note = {
        "at": at,
        "ok": True,
        "slot": (slot.isoformat() if slot else before.get("slot", "")),
        "says": outcome.says,
        "wrong": list(outcome.wrong),
        "files": list(outcome.files),
        "seconds": round(time.monotonic() - begun, 1),
    }
    write_note(book, f"done/{name}", note)
    return outcome
