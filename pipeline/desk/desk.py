"""What all pages stand on: the book, its generations, and decisions that wait to be worked in."""

import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from time import monotonic
from typing import Any

import polars as pl

from pipeline.awaited import Asked, questions
from pipeline.book.book import Book, kept_settings, now
from pipeline.book.decisions import judged, standing_decisions, taken_back
from pipeline.book.journal import Journal, Line
from pipeline.desk.accounts import Accounts
from pipeline.desk.generation import Generation
from pipeline.errors import DecisionError
from pipeline.season.generations import current_path
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.settings import Settings


@dataclass(slots=True)
class Overlay:
    """Decisions of the journal that the season files do not hold yet, by flag."""

    decided: dict[str, tuple[Line, dict[str, Any]]] = field(default_factory=dict[str, Any])
    reopened: set[str] = field(default_factory=set[str])


class Desk:
    """A book as the pages see it; safe to use from any thread.

    `look` picks up what other commands wrote. A request reads one `Sight` and keeps to it.
    """

    def __init__(self, book: Book, accounts: Accounts) -> None:
        self.book = book
        self.accounts = accounts
        self._lock = threading.Lock()
        self._size = -1
        self._sight: Sight | None = None
        self._changed = monotonic()

    def sight(self) -> "Sight":
        """Return what there is to see now."""
        sight = self._sight
        return sight if sight is not None else self.look()

    def look(self) -> "Sight":
        """Look at journal and season files again, where either changed."""
        with self._lock:
            before = self._sight
            journal = before.journal if before else None
            size = (self.book.path / "journal.jsonl").stat().st_size
            if journal is None or size != self._size:
                journal, self._size = self.book.journal(), size
                settings = kept_settings(journal)
            else:
                assert before is not None
                settings = before.settings
            held = before.generations if before else {}
            found: dict[str, Generation] = {}
            for season in seasons_with_sheets(journal, settings):
                path = current_path(self.book, season)
                if path is not None:
                    known = held.get(season)
                    same = known is not None and known.path == path
                    found[season] = known if same and known else Generation(path, settings)
            if before and journal is before.journal and found == held:
                return before
            self._sight = Sight(self.book, journal, settings, found)
            self._changed = monotonic()
            return self._sight

    def quiet_s(self) -> float:
        """Return for how many seconds nothing new was seen in journal or season files."""
        return monotonic() - self._changed


class Sight:
    """Journal and season files as they stood at one moment."""

    def __init__(
        self,
        book: Book,
        journal: Journal,
        settings: Settings,
        generations: dict[str, Generation],
    ) -> None:
        self.book = book
        self.journal = journal
        self.settings = settings
        self.generations = generations
        self.today = date.fromisoformat(now()[:10])
        self._waiting = {
            season: _overlay(journal, one.journal_n, season) for season, one in generations.items()
        }
        self._asked = {one.flag: one for one in questions(journal)}

    @property
    def season(self) -> str:
        """The latest season that has a file, or the last declared."""
        codes = [one.code for one in self.settings.seasons if one.code in self.generations]
        return codes[-1] if codes else self.settings.seasons[-1].code

    def generation(self, season: str = "") -> Generation | None:
        """Return a season's file, the latest where none is named; None before the first take."""
        return self.generations.get(season or self.season)

    @cached_property
    def open(self) -> frozenset[str]:
        """The full numbers of the open flags."""
        return frozenset(self.queue()["flag"])

    def queue(self) -> pl.DataFrame:
        """Return the open flags of all seasons, the costliest first; a register's flag once."""
        return self._queue

    @cached_property
    def _queue(self) -> pl.DataFrame:
        found = [
            one.queue.with_columns(pl.lit(season).alias("season")).filter(
                (pl.col("decision").is_null() & ~pl.col("flag").is_in(list(over.decided)))
                | pl.col("flag").is_in(list(over.reopened))
            )
            for season, one in self.generations.items()
            for over in (self._waiting[season],)
        ]
        if not found:
            return pl.DataFrame(schema={"flag": pl.String})
        if len(found) == 1:
            return found[0]
        order = ["weight", "sure", "flag"]
        return (
            pl.concat(found)
            .unique("flag", keep="first")
            .sort(order, descending=[True, True, False])
        )

    def find(self, number: str) -> tuple[Generation, str]:
        """Return the file and full number of a flag whose number begins so, open or decided.

        DecisionError where there is none, or several.
        """
        wanted = number.replace("-", "").strip().casefold()
        for one in self.generations.values():
            fitting = one.queue.filter(pl.col("flag").str.starts_with(wanted))["flag"]
            if wanted and len(fitting) == 1:
                return one, str(fitting[0])
        raise DecisionError(f"There is no flag {number}. A later sheet may have settled it.")

    def decision(self, flag: str) -> tuple[Line, dict[str, Any]] | None:
        """Return the last decision on a flag that stands, worked in or not."""
        found = [pair for pair in standing_decisions(self.journal) if pair[1]["flag"] == flag]
        return found[-1] if found else None

    def decisions(self) -> Iterator[tuple[Line, dict[str, Any]]]:
        """Yield the decisions that stand, the latest first."""
        yield from reversed(list(standing_decisions(self.journal)))

    def asked(self, flag: str) -> Asked | None:
        """Return the latest question to a station about a flag."""
        return self._asked.get(flag)

    def awaited(self) -> list[Asked]:
        """Return the questions whose flags still wait, the longest due first."""
        waiting = [one for one in self._asked.values() if one.flag in self.open]
        return sorted(waiting, key=lambda one: (one.due, one.station, one.flag))

    @property
    def whole(self) -> bool:
        """Whether nothing waits to be worked out of the decisions that are worked in."""
        return all(one.whole for one in self.generations.values())

    def waiting(self) -> int:
        """Return how many decisions are safe but not worked in yet."""
        return sum(len(over.decided) + len(over.reopened) for over in self._waiting.values())


def _overlay(journal: Journal, since: int, season: str) -> Overlay:
    over = Overlay()
    gone = taken_back(journal)
    for line in journal.lines[since:]:
        for one in judged(line, season):
            if (line.n, one["flag"]) not in gone:
                over.decided[one["flag"]] = (line, one)
                over.reopened.discard(one["flag"])
        if line.what == "taken-back" and line.body["season"] in ("", season):
            over.decided.pop(line.body["flag"], None)
            over.reopened.add(line.body["flag"])
    return over
