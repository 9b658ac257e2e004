"""How a week's sheets hang on the closed seasons of a book: beside a book that has none."""

import re
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from pipeline.bench.season import AT, SEASON, WEEKS, write_season
from pipeline.bench.spent import in_new_process
from pipeline.bench.whole import drawn, take_week
from pipeline.book.book import Book, new_book
from pipeline.closing import close_season
from pipeline.samples.season import FIRST_DAY
from pipeline.samples.sheets import by_week
from pipeline.take import take_by_day

# An earlier season has so many times fewer members and receipts, and so many days lie between two:
# whole weeks, so that a market day stays one.
SMALLER, APART = 20, timedelta(days=364)
# What comes in once, for all seasons; and what an earlier season does without.
ONCE, NEVER = ("members", "plots"), ("receipt_books",)
_DAY = re.compile(r"2026-\d\d-\d\d")
_WEEK = re.compile(r"2026-W\d\d")


@dataclass(frozen=True, slots=True, kw_only=True)
class Closed:
    """Seconds of a week without closed seasons before it and with so many; balances carried."""

    members: int
    seasons: int
    carried: int
    without_s: float
    week_s: float

    def figures(self) -> dict[str, object]:
        """Return the figures by name."""
        return {
            "week_s": round(self.week_s, 2),
            "week_without_s": round(self.without_s, 2),
            "seasons": self.seasons,
            "members": self.members,
            "carried_members": self.carried,
        }


def measure_closed(
    seasons: int, members: int, deliveries: int, *, told: Callable[[str], None]
) -> Closed:
    """Take a week into a drawn season, with so many closed ones before it and with none.

    `told` is called before each part.
    """
    with tempfile.TemporaryDirectory(prefix="weighbook-bench-") as name:
        scratch = Path(name)
        folder, earlier = scratch / "drawn", scratch / "earlier"
        told(f"drawing a season of {members:,} members, {deliveries:,} receipts")
        week = in_new_process(drawn, folder, members, deliveries)
        in_new_process(write_season, earlier, *small(members, deliveries))
        carried = 0
        took_s: dict[int, float] = {}
        for before in (0, seasons):
            book = scratch / f"book-{before}"
            told(f"first take, closed seasons before it: {before}")
            carried = in_new_process(take_after, folder, earlier, book, before)
            told(f"a week more, closed seasons before it: {before}")
            took_s[before] = in_new_process(take_week, book, week, week[0].parent.parent)
        return Closed(
            members=members,
            seasons=seasons,
            carried=carried,
            without_s=took_s[0],
            week_s=took_s[seasons],
        )


def small(members: int, deliveries: int) -> tuple[int, int]:
    """Return how many members and receipts an earlier season has."""
    fewer = max(100, members // SMALLER)
    return fewer, fewer * deliveries // members


def take_after(folder: Path, earlier: Path, path: Path, seasons: int) -> int:
    """Take a drawn season into a new book after so many closed ones; how many members' balances."""
    ago = [APART * n for n in range(seasons, 0, -1)]
    text = (folder / "book.toml").read_text("utf-8")
    book = new_book(path, text + "".join(_declared(before) for before in ago), AT)
    carried = 0
    for before in ago:
        with tempfile.TemporaryDirectory(prefix="weighbook-bench-") as name:
            sheets = _earlier_season(earlier, Path(name), before, first=before == ago[0])
            carried = _take_and_close(book, sheets, before)
    take_by_day(book, by_week(folder / "season"), by="bench", at=AT)
    return carried


def _take_and_close(book: Book, sheets: list[tuple[date, list[Path]]], before: timedelta) -> int:
    take_by_day(book, sheets, by="bench", at=AT)
    day = FIRST_DAY - before + APART
    carried, _ = close_season(book, _code(before), by="bench", second="other", day=day, at=AT)
    return carried


def _declared(before: timedelta) -> str:
    first = FIRST_DAY - before
    last = first + timedelta(weeks=WEEKS + 1, days=-1)
    return f'\n[[season]]\ncode = "{_code(before)}"\nfirst_day = {first}\nlast_day = {last}\n'


def _code(before: timedelta) -> str:
    return str(int(SEASON) - before // APART)


def _earlier_season(
    drawn_in: Path, folder: Path, before: timedelta, *, first: bool
) -> list[tuple[date, list[Path]]]:
    """Write a season's sheets as of so long ago; return them by the day that they came in.

    `first`: with the registers.
    """
    days: list[tuple[date, list[Path]]] = []
    for day, paths in by_week(drawn_in / "season"):
        here = folder / str(day)
        here.mkdir()
        written: list[Path] = []
        for path in paths:
            if path.stem in (NEVER if first else (*ONCE, *NEVER)):
                continue
            text = _DAY.sub(lambda found: _moved(found[0], before), path.read_text("utf-8"))
            text = text.replace(f"PL-{SEASON}", f"PL-{_code(before)}")
            name = _WEEK.sub(lambda found: _week(found[0], before), path.stem)
            # Registers of later years are other sheets, no later versions of these.
            written.append(here / f"{name}_of_{_code(before)}.csv")
            written[-1].write_text(text, "utf-8", newline="\n")
        days.append((day - before, written))
    return days


def _moved(day: str, before: timedelta) -> str:
    return (date.fromisoformat(day) - before).isoformat()


def _week(name: str, before: timedelta) -> str:
    year, week, _ = (date.fromisocalendar(int(name[:4]), int(name[6:]), 1) - before).isocalendar()
    return f"{year}-W{week:02d}"
