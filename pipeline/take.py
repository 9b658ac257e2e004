"""Takes sheets into a book: keep the bytes, write the journal line, bring the seasons up to it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.book.book import Book, keep_sheet, note_settings, now, writing
from pipeline.book.journal import Journal, append
from pipeline.intake.read import Cells, NotRead, read_cells
from pipeline.intake.recognise import kind_of, match_headings, speaks_for
from pipeline.intake.type_sheets import type_sheets
from pipeline.season.generations import current_path
from pipeline.season.refresh import (
    can_go_on,
    concerns,
    front_of,
    kept_sheets,
    refresh,
    text_frame,
)
from pipeline.season.tables import connect, rows
from pipeline.settings import Settings

# The columns, beside the day, that tell what a sheet speaks for.
SPEAKING = ("station", "recorder")
STATES = ("counted", "held", "sent_back", "replaced", "left_out")


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What became of one sheet: where its rows are now, or why it was not read.

    `status`: "taken", "known" (the same bytes were taken before), "kept" (not read, but kept) or
    "absent" (there is no such file). `message` is a sentence where the clerk has something to do.
    """

    sheet: str
    status: str
    kind: str = ""
    version: int = 1
    arrived: int = 0
    counted: int = 0
    held: int = 0
    sent_back: int = 0
    replaced: int = 0
    left_out: int = 0
    message: str = ""


def take(
    book: Book,
    paths: Sequence[Path],
    *,
    by: str,
    day: date | None = None,
    progress: Callable[[int], None] | None = None,
    at: str = "",
) -> list[Taken]:
    """Take any number of sheets in one go and return what became of each, in the order given.

    `day`: the civil day on which they came in, today where none is given. The sheets are safe when
    the journal line is written; what follows can always be worked out again.
    """
    at = at or now()
    day = day or date.fromisoformat(at[:10])
    with writing(book):
        journal, settings = note_settings(book, book.journal(), at)
        known = {sheet.entry["sha256"] for sheet in kept_sheets(journal)}
        entries: list[dict[str, Any]] = []
        read: dict[str, Cells] = {}
        results: list[Taken | str] = []
        for path in paths:
            content = _content(path)
            if content is None:
                results.append(_absent(path))
            else:
                sha256 = keep_sheet(book, content)
                results.append(sha256)
                if sha256 not in known:
                    known.add(sha256)
                    entry, cells = _entry(path.name, sha256, content, settings, day)
                    entries.append(entry)
                    if cells is not None:
                        read[sha256] = cells
            if progress:
                progress(1)
        if entries:
            body = {"sheets": entries, "day": day.isoformat(), "by": by}
            journal = append(journal, "taken", body, at)
        bring_up_to_date(book, journal, settings, read=read)
        new = {entry["sha256"] for entry in entries}
        return _results(book, journal, settings, paths, results, new)


def _content(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except OSError:
        return None


def _absent(path: Path) -> Taken:
    what = "is a folder; name its sheets" if path.is_dir() else "is not there, or cannot be opened"
    return Taken(sheet=path.name, status="absent", message=f"{path} {what}. Look at the name.")


def _entry(
    name: str, sha256: str, content: bytes, settings: Settings, day: date
) -> tuple[dict[str, Any], Cells | None]:
    """Read a sheet far enough to know what it is; one that cannot be read is kept all the same."""
    entry: dict[str, Any] = {
        "sha256": sha256,
        "name": name,
        "kind": "",
        "season": season_of_day(settings, day),
        "station": "",
        "week": "",
        "recorder": "",
        "slot": "",
        "arrived": 0,
        "problem": None,
    }
    try:
        cells = read_cells(content)
        entry["arrived"] = cells.frame.height
        kind = kind_of(cells)
        speaking = replace(
            kind, columns=tuple(c for c in kind.columns if c.name in (*SPEAKING, kind.day))
        )
        front = front_of(name, cells, match_headings(speaking, cells.headings))
        typed = type_sheets(speaking, text_frame(speaking, cells, 0), {0: front}, settings).rows
        days = {season.code: (season.first_day, season.last_day) for season in settings.seasons}
        sheet = speaks_for(kind, name, typed, days)
    except NotRead as problem:
        entry["problem"] = f"{problem.code}: {problem}"
        return entry, None
    entry |= {
        "kind": sheet.kind,
        "season": sheet.season,
        "station": sheet.station,
        "week": sheet.week,
        "recorder": sheet.recorder,
        "slot": sheet.slot,
    }
    return entry, cells


def season_of_day(settings: Settings, day: date) -> str:
    """Return the season a day falls in, else the last one begun before it, else the first."""
    begun = [season for season in settings.seasons if season.first_day <= day]
    if not begun:
        return min(settings.seasons, key=lambda season: season.first_day).code
    return max(begun, key=lambda season: season.first_day).code


def seasons_with_sheets(journal: Journal, settings: Settings) -> list[str]:
    """Return the seasons that any sheet speaks for; with registers only, the first declared."""
    named = {sheet.entry["season"] for sheet in kept_sheets(journal)} - {""}
    codes = [season.code for season in settings.seasons if season.code in named]
    return codes or [settings.seasons[0].code]


def bring_up_to_date(
    book: Book,
    journal: Journal,
    settings: Settings,
    *,
    read: dict[str, Cells] | None = None,
    fresh: bool = False,
) -> None:
    """Bring every season's file up to the journal's head, where a line since concerns it."""
    for code in seasons_with_sheets(journal, settings):
        if fresh or lags(book, journal, code):
            refresh(book, journal, code, read=read, fresh=fresh)


def lags(book: Book, journal: Journal, season: str) -> bool:
    """Tell whether journal lines that concern a season are not in its file yet."""
    path = current_path(book, season)
    if path is None or not can_go_on(path, journal):
        return True
    with connect(str(path)) as con:
        done = rows(con, "select journal_n from file_facts")[0][0]
    return any(concerns(line, season) for line in journal.lines[done:])


def _results(
    book: Book,
    journal: Journal,
    settings: Settings,
    paths: Sequence[Path],
    results: Sequence[Taken | str],
    new: set[str],
) -> list[Taken]:
    states = sheet_states(book, journal, settings)
    found: list[Taken] = []
    seen: set[str] = set()
    for path, result in zip(paths, results, strict=True):
        if isinstance(result, Taken):
            found.append(result)
            continue
        first = result in new and result not in seen
        seen.add(result)
        found.append(_taken(path.name, states[result], first=first))
    return found


def _taken(name: str, state: dict[str, Any], *, first: bool) -> Taken:
    problem = state["problem"] or ""
    if state["kind"] and problem:
        titles = problem.removeprefix("missing-column: ")
        message = f"The sheet has no column {titles}. Add it and send the whole sheet again."
    else:
        message = problem.partition(": ")[2]
    status = ("kept" if not state["kind"] else "taken") if first else "known"
    if not first:
        message = "The same sheet was taken before; nothing changed."
    return Taken(
        sheet=name,
        status=status,
        kind=state["kind"] or "",
        version=state["version"],
        arrived=state["arrived"],
        message=message,
        **{column: state[column] for column in STATES},
    )


def sheet_states(book: Book, journal: Journal, settings: Settings) -> dict[str, dict[str, Any]]:
    """Return, by SHA-256, what became of each sheet's rows; for a register, in its first season."""
    found: dict[str, dict[str, Any]] = {}
    by_no = {sheet.sheet_no: sheet.entry["sha256"] for sheet in kept_sheets(journal)}
    for code in seasons_with_sheets(journal, settings):
        path = current_path(book, code)
        if path is None:
            continue
        with connect(str(path)) as con:
            states: pl.DataFrame = con.sql("select * from sheet_states order by sheet_no").pl()
        for state in states.iter_rows(named=True):
            found.setdefault(by_no[state["sheet_no"]], state)
    return found


def rebuild(book: Book) -> list[Path]:
    """Work every season out anew from sheets and journal; return the season files."""
    with writing(book):
        journal, settings = note_settings(book, book.journal(), now())
        bring_up_to_date(book, journal, settings, fresh=True)
        return [
            path
            for code in seasons_with_sheets(journal, settings)
            if (path := current_path(book, code)) is not None
        ]
