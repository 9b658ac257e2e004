"""A walk through a season full of faults: random decisions, some taken back, sheets sent again.

Nothing that a clerk or a manager may do is to leave a book that does not add up, or that differs
from what its sheets and journal give when all is worked out anew.
"""

import csv
import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path

from pipeline.book.book import Book, open_book
from pipeline.book.decisions import standing_decisions
from pipeline.decide import decide_alike, fitting, take_back
from pipeline.errors import ConservationError, DecisionError
from pipeline.intake.kinds import kinds
from pipeline.queue import season_flags
from pipeline.season.flags import Flag
from pipeline.take import take
from pipeline.trial.faults import planted_season
from pipeline.trial.honest import honest_season
from pipeline.trial.season_book import AT, flags_of
from pipeline.verify import verify

MANAGER, SECOND = "Manager", "Second"
LAST_DAY = date(2026, 11, 1)
# How often each is done: a decision, taking one back, a sheet sent again with a change.
TURNS = {"decide": 6, "take back": 2, "send again": 2}


@dataclass(slots=True, kw_only=True)
class Walked:
    """What a walk did and met: steps by what they were, refusals, and every break of a promise."""

    seed: int
    steps: int = 0
    did: dict[str, int] = field(default_factory=dict[str, int])
    refused: int = 0
    proved: int = 0
    broken: list[str] = field(default_factory=list[str])


def walk(
    folder: Path,
    seed: int,
    people: int,
    steps: int,
    *,
    prove_every: int = 10,
    progress: Callable[[int], None] | None = None,
) -> Walked:
    """Walk so many steps through a drawn season of so many members, whose book is made in `folder`.

    `prove_every`: after so many steps the whole book is proved, worked out anew beside itself. The
    walk ends where a promise is broken; errors that are neither refusal nor break come through.
    """
    honest = honest_season(seed, people)
    planting = planted_season(honest, seed, people)
    flags_of(folder, planting.season, planting.texts, planting.gone)
    walker = _Walker(folder, seed)
    while walker.walked.steps < steps and not walker.walked.broken:
        walker.step()
        if walker.walked.steps % prove_every == 0 or walker.walked.steps == steps:
            walker.prove()
        if progress:
            progress(walker.walked.steps)
    return walker.walked


class _Walker:
    """One walk: its book, its dice, and what came of it."""

    def __init__(self, folder: Path, seed: int) -> None:
        self.walked = Walked(seed=seed)
        self._book: Book = open_book(folder / "book")
        self._sheets = sorted((folder / "sheets").glob("*.csv"))
        self._again = folder / "again"
        self._dice = random.Random(seed)

    def step(self) -> None:
        what = self._dice.choices([*TURNS], weights=[*TURNS.values()])[0]
        try:
            {"decide": self._decide, "take back": self._take_back, "send again": self._send_again}[
                what
            ]()
        except DecisionError:
            self.walked.refused += 1
        except ConservationError as error:
            self.walked.broken.append(f"step {self.walked.steps}, {what}: {error}")
        self.walked.steps += 1
        self.walked.did[what] = self.walked.did.get(what, 0) + 1

    def prove(self) -> None:
        self.walked.proved += 1
        for name, promise in verify(self._book)["promises"].items():
            self.walked.broken += [
                f"step {self.walked.steps}: {name}: {fault}" for fault in promise["faults"]
            ]

    def _decide(self) -> None:
        open_ones = [flag for _, flag in season_flags(self._book) if not flag.decision]
        if not open_ones:
            return
        first = self._dice.choice(open_ones)
        action = self._dice.choice(fitting(first))
        alike = [one for one in open_ones if one.rule == first.rule and action in fitting(one)]
        some = [first] if action == "amend" else alike[: self._dice.randint(1, 4)]
        decide_alike(
            self._book,
            [one.flag for one in some],
            action,
            because="as the dice fell",
            by=MANAGER,
            value=self._value(first) if action == "amend" else None,
            second=SECOND,
            at=AT,
        )

    def _value(self, flag: Flag) -> str:
        """Return a new value for a flag's cell: one that another sheet has in that column."""
        title = kinds()[flag.kind].column(flag.col).title
        said = [
            row[title]
            for path in self._sheets
            if path.name.startswith(flag.kind)
            for row in csv.DictReader(path.open(encoding="utf-8"))
            if row.get(title)
        ]
        return self._dice.choice(said) if said else "1"

    def _take_back(self) -> None:
        standing = [*standing_decisions(self._book.journal())]
        if standing:
            _, one = self._dice.choice(standing)
            take_back(self._book, one["flag"], because="as the dice fell", by=MANAGER, at=AT)

    def _send_again(self) -> None:
        """Send a later version of a sheet: two cells of a column exchanged, and a row gone."""
        path = self._dice.choice(self._sheets)
        head, *lines = csv.reader(path.read_text("utf-8").splitlines())
        if len(lines) > 2:
            one, other = self._dice.sample(range(len(lines)), 2)
            column = self._dice.randrange(len(head))
            lines[one][column], lines[other][column] = lines[other][column], lines[one][column]
            lines.pop(self._dice.randrange(len(lines)))
        folder = self._again / str(self.walked.steps)
        folder.mkdir(parents=True)
        later = folder / path.name
        with later.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file, lineterminator="\n").writerows([head, *lines])
        day = LAST_DAY + timedelta(days=self.walked.steps)
        take(self._book, [later], by="clerk", day=day, at=AT)
