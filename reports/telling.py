"""What members are told between statements: of each delivery, and of a month, as text messages."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import duckdb

from reports.correction import quoted
from reports.facts import CoopFacts, Row
from reports.labels import coffee_name
from reports.messages import count, fitted, month, slip
from reports.query import rows
from reports.statement import voice
from reports.statement_parts import Voice
from reports.words import spoken


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """One text for one member; `phone` is "" where none is registered, `messages` how many go."""

    member_no: str
    phone: str
    text: str

    @property
    def messages(self) -> int:
        """Return how many messages the text takes: one or two."""
        return count(self.text)


def of_deliveries(
    con: duckdb.DuckDBPyConnection, facts: CoopFacts, first: dt.date, last: dt.date
) -> list[Message]:
    """Return a message a weighing of these days that counts or waits, in the order of members."""
    days = {"first": first, "last": last}
    totals = {row["member_no"]: row for row in rows(con, "running_total", **days)}
    brought: dict[str, list[Row]] = {}
    for row in rows(con, "slips", **days):
        brought.setdefault(row["member_no"], []).append(row)
    return [
        Message(
            member_no=who["member_no"],
            phone=who["phone"],
            text=fitted(
                slip(v, row | who | {"coffee": coffee_name(v.say, row["species"], row["form"])},
                     totals[who["member_no"]])
            ),
        )
        for who, v in _members(con, facts)
        for row in brought.get(who["member_no"], [])
    ]  # fmt: skip


def of_month(
    con: duckdb.DuckDBPyConnection, facts: CoopFacts, first: dt.date, last: dt.date
) -> list[Message]:
    """Return a message a member who delivered in this month, in the order of members."""
    totals = {row["member_no"]: row for row in rows(con, "running_total", first=first, last=last)}
    return [
        Message(
            member_no=who["member_no"],
            phone=who["phone"],
            text=fitted(month(v, totals[who["member_no"]] | who, v.figures.month(first))),
        )
        for who, v in _members(con, facts)
        if totals[who["member_no"]]["deliveries"]
    ]


def as_csv(messages: Sequence[Message]) -> str:
    """Return messages as a CSV sheet: member_no, phone, messages, text."""
    made = io.StringIO()
    sheet = csv.writer(made, lineterminator="\n")
    sheet.writerow(["member_no", "phone", "messages", "text"])
    for one in messages:
        line = (one.member_no, one.phone, str(one.messages), one.text)
        sheet.writerow([quoted(cell) for cell in line])
    return made.getvalue()


def bare_phone(phone: str | None) -> str:
    """Return a telephone number without what only makes it easier to read."""
    return re.sub(r"[\s().-]", "", phone or "")


def _members(con: duckdb.DuckDBPyConnection, facts: CoopFacts) -> Iterator[tuple[Row, Voice]]:
    """Yield every member, by village and number, with the voice that speaks their language."""
    phones = {row["member_no"]: row["phone"] for row in rows(con, "members_phones")}
    voices: dict[str, Voice] = {}
    for member in rows(con, "members_in_order", members=None):
        language = spoken(member["language"], facts.languages)
        if language not in voices:
            voices[language] = voice(language, facts)
        own: Row = {
            "member_no": member["member_no"],
            "name": member["name"],
            "phone": bare_phone(phones.get(member["member_no"])),
        }
        yield own, voices[language]
