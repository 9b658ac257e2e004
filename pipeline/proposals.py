"""What one person puts forward and a second one signs: posting, payment lists, raised amounts.

Nothing of a proposal holds until it is signed: it is a line of the journal, and so is its answer.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from pipeline.book.book import Book, note_settings, now, writing
from pipeline.book.journal import Journal, append
from pipeline.decide import record
from pipeline.declared import MONEY_ROLES
from pipeline.doubtful import find
from pipeline.errors import PostingError
from pipeline.paying import make_list, withdraw_list
from pipeline.raises import raising, refuse_alone
from pipeline.second import post_second
from pipeline.settings import Settings
from pipeline.upkeep import bring_up_to_date

SECOND, LIST, WITHDRAWAL, AMENDMENT = "second payment", "payment list", "withdrawal", "amendment"
WAITING, SIGNED, DECLINED = "waiting", "signed", "declined"


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """Something put forward: its number, what it is, by whom, and whether it was answered.

    `body`: what it needs to be done, as the journal holds it. `because`: why it was declined.
    """

    no: int
    of: str
    by: str
    on: date
    body: dict[str, Any]
    state: str = WAITING
    second: str = ""
    answered_on: date | None = None
    because: str = ""


def proposals(journal: Journal) -> list[Proposal]:
    """Return everything that was put forward, the earliest first."""
    found: dict[int, Proposal] = {}
    for line in journal.lines:
        body = line.body
        if line.what == "proposed":
            found[line.n] = Proposal(
                no=line.n,
                of=body["of"],
                by=body["by"],
                on=date.fromisoformat(line.at[:10]),
                body=body["body"],
            )
        elif line.what == "proposal-answered" and body["no"] in found:
            asked = found[body["no"]]
            found[asked.no] = Proposal(
                no=asked.no,
                of=asked.of,
                by=asked.by,
                on=asked.on,
                body=asked.body,
                state=body["state"],
                second=body["by"],
                answered_on=date.fromisoformat(line.at[:10]),
                because=body["because"],
            )
    return list(found.values())


def propose(book: Book, of: str, body: dict[str, Any], *, by: str, at: str = "") -> Proposal:
    """Put something forward; the same again, while it waits, changes nothing.

    PostingError where somebody has no role that may post money.
    """
    at = at or now()
    with writing(book):
        journal, settings = note_settings(book, book.journal(), at)
        _refuse_others(settings, by)
        for one in proposals(journal):
            if one.state == WAITING and (one.of, one.body, one.by) == (of, body, by):
                return one
        journal = append(journal, "proposed", {"of": of, "by": by, "body": body}, at)
    return proposals(journal)[-1]


def _refuse_others(settings: Settings, name: str) -> None:
    person = settings.person(name)
    if settings.people and (person is None or not set(person.roles) & set(MONEY_ROLES)):
        raise PostingError(
            f"{name} may not post money. It takes one of the roles {', '.join(MONEY_ROLES)}."
        )


def waiting(journal: Journal, no: int) -> Proposal:
    """Return a proposal that waits; PostingError where there is none, or it was answered."""
    found = next((one for one in proposals(journal) if one.no == no), None)
    if found is None:
        raise PostingError(f"Nothing was put forward under number {no}.")
    if found.state != WAITING:
        raise PostingError(f"Number {no} was {found.state} by {found.second} already.")
    return found


def sign(book: Book, no: int, *, by: str, seen: str = "", at: str = "") -> Proposal:
    """Do what was put forward, in the names of both; PostingError where one would be alone.

    `seen`: the digest of the payment list that was looked at; another one is not made.
    """
    at = at or now()
    with writing(book):
        journal, settings = note_settings(book, book.journal(), at)
        asked = waiting(journal, no)
        refuse_alone(settings, asked.by, by)
    body = asked.body
    if asked.of == SECOND:
        post_second(book, body["season"], body["plan"], by=asked.by, second=by, at=at)
    elif asked.of == LIST:
        make_list(
            book,
            body["season"],
            by=asked.by,
            second=by,
            methods=body["methods"],
            seen=seen,
            at=at,
        )
    elif asked.of == WITHDRAWAL:
        withdraw_list(book, body["list"], by=asked.by, second=by, because=body["because"], at=at)
    else:
        _amend(book, asked, by, at)
    return _answer(book, asked, SIGNED, by, "", at)


def decline(book: Book, no: int, *, because: str, by: str, at: str = "") -> Proposal:
    """Decline what was put forward, or withdraw one's own: nothing of it is done."""
    at = at or now()
    if not because.strip():
        raise PostingError("Say why it is declined: whoever put it forward reads it.")
    with writing(book):
        journal, settings = note_settings(book, book.journal(), at)
        _refuse_others(settings, by)
        asked = waiting(journal, no)
    return _answer(book, asked, DECLINED, by, because.strip(), at)


def _answer(book: Book, asked: Proposal, state: str, by: str, because: str, at: str) -> Proposal:
    with writing(book):
        journal = book.journal()
        body = {"no": asked.no, "state": state, "by": by, "because": because}
        waiting(journal, asked.no)
        journal = append(journal, "proposal-answered", body, at)
    return next(one for one in proposals(journal) if one.no == asked.no)


def _amend(book: Book, asked: Proposal, second: str, at: str) -> None:
    body = asked.body
    with writing(book):
        journal, settings = note_settings(book, book.journal(), at)
        bring_up_to_date(book, journal, settings, at_once=True)
        record(
            book,
            journal,
            settings,
            body["flags"],
            "amend",
            because=body["because"],
            by=asked.by,
            second=second,
            value=body["value"],
            at=at,
        )


def needs_second(book: Book, settings: Settings, numbers: Sequence[str], value: str) -> bool:
    """Tell whether an amendment raises an amount or changes where money goes."""
    return bool(raising(book, settings, find(book, book.journal(), settings, numbers), value))
