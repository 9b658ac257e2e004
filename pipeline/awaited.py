"""Asks stations about doubtful rows, and lists what is awaited and what is overdue."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import polars as pl

from pipeline.book.book import Book, kept_settings, note_settings, now, writing
from pipeline.book.decisions import standing_decisions
from pipeline.book.journal import Journal, append
from pipeline.decide import refuse_nameless
from pipeline.doubtful import find
from pipeline.errors import DecisionError
from pipeline.season.flag_frame import flags_frame
from pipeline.season.generations import current_path
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.season.tables import connect
from pipeline.upkeep import bring_up_to_date

# A station answers within a week where no other day is said: common practice.
DAYS = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a station was asked: the flag, its station, the question, and when an answer is due."""

    flag: str
    station: str
    place: str
    question: str
    by: str
    asked_on: date
    due: date

    @property
    def short(self) -> str:
        """The flag's number as it is printed and typed."""
        return f"{self.flag[:4]}-{self.flag[4:8]}".upper()

    def overdue(self, today: date) -> bool:
        """Tell whether the day of the answer is past."""
        return today > self.due


def ask_station(
    book: Book,
    numbers: Sequence[str],
    question: str,
    *,
    by: str,
    due: date | None = None,
    at: str = "",
) -> list[Asked]:
    """Ask the stations whose sheets some flags are on; the rows wait on, as before.

    DecisionError where a flag is unknown or decided, or question or name are empty, or the day of
    the answer is past. A later question on the same flag takes the place of the earlier.
    """
    at = at or now()
    today = date.fromisoformat(at[:10])
    due = due or today + timedelta(days=DAYS)
    refuse_nameless(question, by, what="question", needs="a text", option="question")
    if due < today:
        raise DecisionError(f"The answer cannot be due on {due}: that day is past.")
    with writing(book):
        journal, settings = note_settings(book, book.journal(), at)
        bring_up_to_date(book, journal, settings, at_once=True)
        doubts = find(book, journal, settings, numbers, as_written=True)
        for doubt in doubts:
            if doubt.flag.decision:
                raise DecisionError(
                    f"{doubt.flag.short} is decided: {doubt.flag.decision}. "
                    "There is nothing to ask."
                )
        on = [
            doubt.place | {"station": doubt.flag.station, "place": doubt.flag.place}
            for doubt in doubts
        ]
        body = {"question": question.strip(), "by": by.strip(), "due": due.isoformat(), "on": on}
        journal = append(journal, "asked", body, at)
    asked = {one["flag"] for one in on}
    return [one for one in questions(journal) if one.flag in asked]


def questions(journal: Journal) -> list[Asked]:
    """Return the latest question on each flag, whether its flag still waits or not."""
    found: dict[str, Asked] = {}
    for line in journal.lines:
        if line.what == "asked":
            for one in line.body["on"]:
                found[one["flag"]] = Asked(
                    flag=one["flag"],
                    station=one["station"],
                    place=one["place"],
                    question=line.body["question"],
                    by=line.body["by"],
                    asked_on=date.fromisoformat(line.at[:10]),
                    due=date.fromisoformat(line.body["due"]),
                )
    return list(found.values())


def awaited(book: Book) -> list[Asked]:
    """Return the questions whose flags are still open, the longest due first."""
    journal = book.journal()
    settled = {one["flag"] for _, one in standing_decisions(journal)}
    still_open: set[str] = set()
    for season in seasons_with_sheets(journal, kept_settings(journal)):
        path = current_path(book, season)
        if path is not None:
            with connect(str(path)) as con:
                frame = flags_frame(con).filter(pl.col("decision").is_null())
            still_open |= set(frame["flag"])
    waiting = [one for one in questions(journal) if one.flag in still_open - settled]
    return sorted(waiting, key=lambda one: (one.due, one.station, one.flag))
