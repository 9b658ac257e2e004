"""What became of sheets that were taken: where the rows of each are now, or why it was not read."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.book.book import Book
from pipeline.book.journal import Journal
from pipeline.season.generations import current_path
from pipeline.season.kept_sheets import KeptSheet, standing_sheets
from pipeline.season.tables import connect
from pipeline.settings import Settings
from pipeline.upkeep import seasons_with_sheets

STATES = ("counted", "held", "sent_back", "replaced", "left_out")


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What became of one sheet: where its rows are now, or why it was not read.

    `status`: "taken", "known" (the same bytes were taken before), "kept" (not read, but kept),
    "absent" (there is no such file), or "refused" (of a station that is not the sender's).
    `message` is a sentence wherever the clerk has something to do; `question`: what is doubtful,
    with the likely `answers`; `notes`: code, row_no, sentence.
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
    question: str = ""
    answers: tuple[str, ...] = ()
    notes: tuple[dict[str, Any], ...] = ()


def results(
    book: Book,
    journal: Journal,
    settings: Settings,
    paths: Sequence[Path],
    files: Sequence[Taken | str],
    new: set[tuple[str, str]],
) -> list[Taken]:
    """Return what became of each file, sheet by sheet, in the order given.

    `files`: the hash of each path, or what is wrong with its name; `new`: the hash and part of each
    sheet that came in now.
    """
    states = sheet_states(book, journal, settings)
    sheets: dict[str, list[KeptSheet]] = {}
    for sheet in standing_sheets(journal):
        sheets.setdefault(sheet.entry["sha256"], []).append(sheet)
    found: list[Taken] = []
    seen: set[tuple[str, str]] = set()
    for path, file in zip(paths, files, strict=True):
        if isinstance(file, Taken):
            found.append(file)
            continue
        for sheet in sheets[file]:
            identity = (file, sheet.part)
            name = f"{path.name} / {sheet.part}" if sheet.part else path.name
            first = identity in new and identity not in seen
            seen.add(identity)
            found.append(_taken(name, sheet, states[sheet.sheet_no], first=first))
    return found


def _taken(name: str, sheet: KeptSheet, state: dict[str, Any], *, first: bool) -> Taken:
    problem = state["problem"] or ""
    if state["kind"] and problem:
        titles = problem.removeprefix("missing-column: ")
        what, it = ("columns", "them") if ", " in titles else ("column", "it")
        message = f"The sheet has no {what} {titles}. Add {it} and send the whole sheet again."
    else:
        message = problem.partition(": ")[2]
    status = ("kept" if not state["kind"] else "taken") if first else "known"
    if not first:
        waits = "" if state["kind"] else f" It is kept and still waits: {message}"
        message = f"The same sheet was taken before; nothing changed.{waits}"
    question: dict[str, Any] = sheet.entry.get("question") or {}
    return Taken(
        sheet=name,
        status=status,
        kind=state["kind"] or "",
        version=state["version"],
        arrived=state["arrived"],
        message=message,
        question=question.get("what", ""),
        answers=tuple(question.get("answers", ())),
        notes=tuple(json.loads(state["notes"])),
        **{column: state[column] for column in STATES},
    )


def sheet_states(book: Book, journal: Journal, settings: Settings) -> dict[int, dict[str, Any]]:
    """Return, by number, what became of each sheet's rows, by its first season."""
    found: dict[int, dict[str, Any]] = {}
    for code in seasons_with_sheets(journal, settings):
        path = current_path(book, code)
        if path is None:
            continue
        with connect(str(path)) as con:
            states: pl.DataFrame = con.sql(
                "select t.*, cast(s.notes as varchar) as notes from sheet_states t "
                "inner join sheets s on s.sheet_no = t.sheet_no order by t.sheet_no"
            ).pl()
        for state in states.iter_rows(named=True):
            found.setdefault(state["sheet_no"], state)
    return found


def not_yours(entry: dict[str, Any], stations: Sequence[str]) -> Taken:
    """Say that a sheet is of a station whose sheets this person may not send."""
    return Taken(
        sheet=entry["name"],
        status="refused",
        kind=entry["kind"],
        arrived=entry["arrived"],
        message=f"It speaks for station {entry['station']}, and yours: {', '.join(stations)}. "
        "It was not taken: give it to whoever has that station, or correct the station in it.",
    )


def absent(path: Path) -> Taken:
    """Say that a file is not there."""
    what = "is a folder; name its sheets" if path.is_dir() else "is not there, or cannot be opened"
    return Taken(sheet=path.name, status="absent", message=f"{path} {what}. Look at the name.")
