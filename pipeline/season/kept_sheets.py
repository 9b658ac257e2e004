"""The sheets that the journal holds, each with its number."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pipeline.book.journal import Journal
from pipeline.settings import Settings


@dataclass(frozen=True, slots=True)
class KeptSheet:
    """A sheet of the journal with its number, counted over the whole book from 1."""

    sheet_no: int
    line_n: int
    day: str
    entry: Mapping[str, Any]

    @property
    def part(self) -> str:
        """Its worksheet or archive member; "" where the file is the sheet."""
        return self.entry.get("part", "")

    @property
    def season(self) -> str:
        """The season it speaks for, "" for a register."""
        return self.entry["season"]


# Of the journal that was asked about last: its head, and its sheets.
_last_kept: list[tuple[int, str, tuple[KeptSheet, ...]]] = []


def kept_sheets(journal: Journal) -> tuple[KeptSheet, ...]:
    """Return every sheet the journal holds, in the order in which they were taken."""
    n, found = 0, ()
    for last_n, last_hash, sheets in _last_kept:
        # The hash of a line holds all before it: where that line stands, these sheets do.
        if last_n <= len(journal.lines) and journal.lines[last_n - 1].hash == last_hash:
            n, found = last_n, sheets
    more: list[KeptSheet] = []
    for line in journal.lines[n:]:
        if line.what == "taken":
            for entry in line.body["sheets"]:
                number = len(found) + len(more) + 1
                more.append(KeptSheet(number, line.n, line.body["day"], entry))
    if journal.lines:
        _last_kept[:] = [(*journal.head, (*found, *more))]
    return (*found, *more)


# Of the journal that was asked about last, by the hash of its last line, which holds all before it.
_last_standing: dict[str, tuple[KeptSheet, ...]] = {}


def standing_sheets(journal: Journal) -> tuple[KeptSheet, ...]:
    """Return the sheets without those that were kept unread and have been read since."""
    _, head = journal.head
    found = _last_standing.get(head)
    if found is None:
        sheets = kept_sheets(journal)
        gone = {old["sheet_no"] for sheet in sheets for old in sheet.entry.get("instead_of", ())}
        found = tuple(sheet for sheet in sheets if sheet.sheet_no not in gone)
        _last_standing.clear()
        _last_standing[head] = found
    return found


def closed_at(journal: Journal, season: str) -> int:
    """Return the number of the line that closed a season; 0 while it is open."""
    lines = (line for line in journal.lines if line.what == "closed")
    return next((line.n for line in lines if line.body["season"] == season), 0)


def speaks_for(season: str, line_n: int, closed: int) -> tuple[str, ...]:
    """Return which sheets of a journal line a season has, by what season they name.

    Its own, and registers until it was closed: its balances are carried over as they stood then.
    """
    return (season,) if 0 < closed < line_n else ("", season)


def seasons_with_sheets(journal: Journal, settings: Settings) -> list[str]:
    """Return the seasons that any sheet speaks for; with registers only, the first declared."""
    named = {sheet.entry["season"] for sheet in standing_sheets(journal)} - {""}
    codes = [season.code for season in settings.seasons if season.code in named]
    return codes or [settings.seasons[0].code]
