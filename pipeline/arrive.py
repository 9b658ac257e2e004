"""From files as they arrive to journal entries: each sheet read far enough to know what it is."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import polars as pl

from pipeline.intake.containers import Part, open_parts
from pipeline.intake.corrected import Claim, claims
from pipeline.intake.counted import spoken_as_written
from pipeline.intake.found import Cells, Doubtful, NotRead
from pipeline.intake.headings import count_known, language_of
from pipeline.intake.kept import Reader
from pipeline.intake.kinds import Kind, kinds
from pipeline.intake.read import cells_of
from pipeline.intake.recognise import kind_of, refuse_twice
from pipeline.intake.speaks import (
    Answer,
    Sheet,
    Spoken,
    speaking,
    speaks_for,
    spoken_by_sheet,
)
from pipeline.intake.together import cells_together
from pipeline.intake.type_sheets import type_sheets
from pipeline.season.kept_sheets import KeptSheet
from pipeline.season.sheet_text import front_of, text_of_sheets
from pipeline.settings import Settings
from pipeline.worksheets import worksheets_apart

# Of a larger sheet, every so-many-th row tells what it speaks for.
ENOUGH_ROWS = 20_000


@dataclass(slots=True)
class Arrival:
    """One sheet that arrived: its file, its place in it, and what reading it gave."""

    sha256: str
    part: str
    name: str
    answer: Answer
    kind: Kind | None = None
    arrived: int = 0
    cells: Cells | None = None
    problem: NotRead | None = None
    only_adds: bool = False
    claims: list[Claim] | None = None
    corrects: KeptSheet | None = None
    worksheet: str = ""


def read_arrivals(
    files: Sequence[tuple[str, str, bytes]],
    settings: Settings,
    answer: Answer,
    reader: Reader,
    before: Sequence[KeptSheet],
) -> list[Arrival]:
    """Read every sheet of some files; one that cannot be read is kept all the same.

    `files`: name, SHA-256, bytes. `before`: all sheets of the book, which correction sheets name by
    number.
    """
    found: list[Arrival] = []
    parts: dict[int, Part] = {}
    for name, sha256, content in files:
        for part in open_parts(content, settings.intake):
            meant = answer if answer.part in ("", part.part) else Answer()
            parts[len(found)] = part
            found.append(
                Arrival(sha256, part.part, part.name(name), meant, worksheet=part.worksheet)
            )
    together = cells_together(parts, settings.intake)
    for place, arrival in enumerate(found):
        alone = together.get(place)
        runs = cells_of(parts[place], settings.intake) if alone is None else [alone]
        try:
            _read(arrival, runs, reader, before, plain=alone is not None)
        except NotRead as problem:
            arrival.problem = problem
    return found


def _read(
    arrival: Arrival,
    sheet: Iterable[Cells],
    reader: Reader,
    before: Sequence[KeptSheet],
    *,
    plain: bool,
) -> None:
    runs: list[pl.DataFrame] = []
    first: Cells | None = None
    for cells in sheet:
        arrival.arrived += cells.frame.height
        if first is None:
            first = cells
            arrival.cells = cells
            arrival.only_adds = arrival.answer.only_adds or cells.only_adds
            _note_corrected(arrival, cells, before)
            arrival.kind = _kind(arrival, cells)
        if arrival.kind is not None:
            runs.append(_sampled(cells.frame))
    if first is None or arrival.kind is None:
        return
    if len(runs) == 1:
        reader.keep(arrival.sha256, arrival.part, first, plain=plain)
    arrival.cells = replace(first, frame=pl.concat(runs) if runs[1:] else runs[0])


def _note_corrected(arrival: Arrival, cells: Cells, before: Sequence[KeptSheet]) -> None:
    """Note, for a correction sheet, what its rows fill and the sheet that most of them are from."""
    arrival.claims = claims(cells)
    known = Counter(
        claim.of_sheet_no
        for claim in arrival.claims or ()
        if claim.of_sheet_no is not None and 0 < claim.of_sheet_no <= len(before)
    )
    if known:
        named = before[known.most_common(1)[0][0] - 1]
        arrival.corrects = named if named.entry["kind"] else None


def _sampled(frame: pl.DataFrame) -> pl.DataFrame:
    """Return rows enough to tell what a sheet speaks for: all of a small one."""
    every = frame.height // ENOUGH_ROWS
    return frame.gather_every(every) if every > 1 else frame


def _kind(arrival: Arrival, cells: Cells) -> Kind | None:
    """Return the kind; None, with the problem noted, so that the rows are counted all the same."""
    if arrival.corrects is not None:
        return kinds()[arrival.corrects.entry["kind"]]
    try:
        kind = kinds()[arrival.answer.kind] if arrival.answer.kind else kind_of(cells, arrival.name)
        refuse_twice(kind, cells)
    except NotRead as problem:
        arrival.problem = problem
        return None
    return kind


def make_entries(
    arrivals: Sequence[Arrival], settings: Settings, season: str, before: Sequence[KeptSheet] = ()
) -> list[dict[str, Any]]:
    """Return the journal entry of each arrival; `season`: that of those which speak for none.

    `before`: all sheets of the book, of which these may be versions.
    """
    spoken = _speak(arrivals, settings)
    places = {n: (a.sha256, a.part, a.worksheet) for n, a in enumerate(arrivals)}
    spoken |= worksheets_apart(places, spoken, before)
    for n, arrival in enumerate(arrivals):
        if arrival.claims is not None and arrival.corrects is None and arrival.kind is not None:
            # It corrects nothing that is known: it speaks for nothing, and all of it goes back.
            nothing = dict.fromkeys(("station", "week", "recorder", "slot"), "")
            spoken[n] = Sheet(kind=arrival.kind.name, season=season, **nothing)
        if arrival.corrects is not None:
            # What it speaks for is what the sheet that it corrects spoke for.
            fields = ("kind", "season", "station", "week", "recorder", "slot")
            spoken[n] = Sheet(**{field: arrival.corrects.entry[field] for field in fields})
    return [_entry(arrival, spoken.get(n), season, settings) for n, arrival in enumerate(arrivals)]


def _speak(arrivals: Sequence[Arrival], settings: Settings) -> dict[int, Sheet]:
    """Return by its place what each sheet speaks for that is read and corrects no other."""
    few = {name: speaking(kind) for name, kind in kinds().items()}
    asked = {
        n: (few[arrival.kind.name], arrival.cells)
        for n, arrival in enumerate(arrivals)
        if arrival.kind is not None and arrival.cells is not None and arrival.claims is None
    }
    codes = {code for scale in settings.scales for code in (scale.code, scale.station)}
    told = spoken_as_written(asked, settings.decimals, codes)
    for kind in few.values():
        others = [(n, cells) for n, (own, cells) in asked.items() if own is kind and n not in told]
        if others:
            text = text_of_sheets(kind, [(n, cells, {}) for n, cells in others])
            fronts = {n: front_of(kind, arrivals[n].name, cells) for n, cells in others}
            rows = type_sheets(kind, text, fronts, settings).rows
            whole = text["beyond"].is_null().alias("whole")
            told |= spoken_by_sheet(kind, rows.with_columns(whole), codes)
    days = {season.code: (season.first_day, season.last_day) for season in settings.seasons}
    stations = [station.code for station in settings.stations]
    found: dict[int, Sheet] = {}
    for n, (kind, cells) in asked.items():
        name, answer = arrivals[n].name, arrivals[n].answer
        said = told.get(n, Spoken())
        try:
            found[n] = speaks_for(
                kind, name, said, days, stations=stations, titles=cells.titles, answer=answer
            )
        except NotRead as problem:
            arrivals[n].problem = problem
    return found


def _entry(
    arrival: Arrival, sheet: Sheet | None, season: str, settings: Settings
) -> dict[str, Any]:
    problem = arrival.problem
    entry: dict[str, Any] = {
        "sha256": arrival.sha256,
        "part": arrival.part,
        "name": arrival.name,
        "kind": sheet.kind if sheet else "",
        "season": sheet.season if sheet else season,
        "station": sheet.station if sheet else "",
        "week": sheet.week if sheet else "",
        "recorder": sheet.recorder if sheet else "",
        "slot": sheet.slot if sheet else "",
        "arrived": arrival.arrived,
        "problem": None,
        "only_adds": arrival.only_adds,
    }
    if problem is not None:
        entry["problem"] = {"code": problem.code, "details": list(problem.details)}
        headings = arrival.cells.headings if arrival.cells else ()
        if count_known(headings):
            entry["language"] = language_of("", headings, settings.languages)
    if isinstance(problem, Doubtful):
        entry["question"] = {"what": problem.what, "answers": list(problem.answers)}
    if said := arrival.answer.said():
        entry["said"] = said
    if arrival.claims is not None and sheet is not None:
        entry["only_adds"] = True
        entry["fills"] = [
            [claim.row_no, claim.of_sheet_no, claim.of_row_no] for claim in arrival.claims
        ]
    return entry


def keep_true_claims(
    entries: Sequence[dict[str, Any]], waiting: Mapping[tuple[int, int], str]
) -> None:
    """Empty the claims of correction sheets to rows that do not wait, or that another row fills.

    `waiting`: the kind of each row that is sent back now, by sheet and row number.
    """
    filled: set[tuple[int, int]] = set()
    for entry in entries:
        for claim in entry.get("fills", ()):
            place = (claim[1], claim[2])
            if place in filled or waiting.get(place) != entry["kind"]:
                claim[1:] = [None, None]
            filled.add(place)


def in_place_of(
    entries: Sequence[dict[str, Any]], before: Sequence[KeptSheet]
) -> list[dict[str, Any]]:
    """Return the entries that say something new about a file that was kept, not all read.

    `before`: every sheet of that file. Each entry names the sheets whose place it takes.
    """
    read = {sheet.part for sheet in before if sheet.entry["kind"]}
    unread = {sheet.part: sheet for sheet in before if not sheet.entry["kind"]}
    parts = {entry["part"] for entry in entries}
    # Where the file as a whole could not be opened before, its first sheet takes that place.
    gone = [sheet for part, sheet in unread.items() if part not in parts]
    found: list[dict[str, Any]] = []
    for entry in entries:
        earlier = unread.get(entry["part"])
        if entry["part"] in read or (earlier is not None and not entry["kind"]):
            continue
        replaced = [*gone, *([earlier] if earlier is not None else [])]
        gone = []
        if replaced:
            entry["instead_of"] = [
                {"sheet_no": sheet.sheet_no, "season": sheet.entry["season"]} for sheet in replaced
            ]
        found.append(entry)
    return found
