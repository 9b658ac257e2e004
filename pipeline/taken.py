"""What became of sheets that were taken: where the rows of each are now, or why it was not read."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pipeline.book.book import Book
from pipeline.book.journal import Journal
from pipeline.intake.kinds import kinds
from pipeline.intake.told import note_said, problem_said, refusal_sentence
from pipeline.season.generations import current_path
from pipeline.season.kept_sheets import (
    KeptSheet,
    closed_at,
    seasons_with_sheets,
    speaks_for,
    standing_sheets,
)
from pipeline.season.schema import STATES, some_sheet_states
from pipeline.season.tables import connect, dicts
from pipeline.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What became of one sheet: where its rows are now, or why it was not read.

    `status`: "taken", "known" (the same bytes were taken before), "kept" (not read, but kept),
    "absent" (there is no such file), or "refused" (of a station that is not the sender's).
    `message` is a sentence wherever the clerk has something to do; `question`: what is doubtful,
    with the likely `answers`; `notes`: code, details, row_no, sentence. `language`: that of the
    sheet's headings, in which message and notes are said.
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
    language: str = "en"
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
    sheets: dict[str, list[KeptSheet]] = {file: [] for file in files if isinstance(file, str)}
    for sheet in standing_sheets(journal):
        if sheet.entry["sha256"] in sheets:
            sheets[sheet.entry["sha256"]].append(sheet)
    asked = [sheet for of_file in sheets.values() for sheet in of_file]
    states = sheet_states(book, journal, settings, asked)
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
    language = state["language"]
    message = problem_said(state["problem"], state["kind"], language)
    status = ("kept" if not state["kind"] else "taken") if first else "known"
    if not first and state["kind"]:
        message = refusal_sentence("known", (), language)
    elif not first:
        message = refusal_sentence("known-waits", [message], language)
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
        language=language,
        notes=tuple(
            {**note, "sentence": note_said(note, language)} for note in json.loads(state["notes"])
        ),
        **{column: state[column] for column in STATES},
    )


def sheet_states(
    book: Book, journal: Journal, settings: Settings, sheets: Sequence[KeptSheet]
) -> dict[int, dict[str, Any]]:
    """Return, by number, what became of the rows of some sheets, each by its first season."""
    found: dict[int, dict[str, Any]] = {}
    for code in seasons_with_sheets(journal, settings):
        closed = closed_at(journal, code)
        asked = [
            sheet.sheet_no
            for sheet in sheets
            if sheet.season in speaks_for(code, sheet.line_n, closed)
            and sheet.sheet_no not in found
        ]
        path = current_path(book, code) if asked else None
        if path is None:
            continue
        of = {sheet.entry["kind"] for sheet in sheets} & kinds().keys()
        text = (
            "select t.*, s.language, cast(s.notes as varchar) as notes "
            f"from ({some_sheet_states(of)}) as t inner join sheets as s on s.sheet_no = t.sheet_no"
        )
        with connect(str(path)) as con:
            states = dicts(con, text, {"sheets": asked})
        found |= {state["sheet_no"]: state for state in states}
    return found


def language_for(settings: Settings, name: str) -> str:
    """Return the language of somebody who sends sheets: their own, else the book's first."""
    person = settings.person(name)
    return (person.language if person else "") or settings.languages[0]


def not_yours(entry: dict[str, Any], stations: Sequence[str], language: str) -> Taken:
    """Say that a sheet is of a station whose sheets this person may not send."""
    return Taken(
        sheet=entry["name"],
        status="refused",
        kind=entry["kind"],
        arrived=entry["arrived"],
        language=language,
        message=refusal_sentence("not-yours", [entry["station"], ", ".join(stations)], language),
    )


def absent(path: Path) -> Taken:
    """Say that a file is not there."""
    what = (
        "is a folder. Name the sheets in it."
        if path.is_dir()
        else "is not there, or cannot be opened. Look at the name."
    )
    return Taken(sheet=path.name, status="absent", message=f"{path} {what}")
