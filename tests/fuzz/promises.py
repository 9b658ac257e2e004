"""What must hold of any input: its rows add up, or it is said in a sentence why it is not read."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path

import polars as pl

from pipeline.intake.cells import TypedRows
from pipeline.intake.characters import BLANK
from pipeline.intake.containers import Part, open_parts
from pipeline.intake.found import Cells, Doubtful, NotRead
from pipeline.intake.kinds import Kind
from pipeline.intake.limits import IntakeLimits
from pipeline.intake.read import part_cells
from pipeline.intake.reasons import REASONS
from pipeline.intake.recognise import kind_of, match_headings, refuse_twice
from pipeline.intake.speaks import Spoken, speaks_for, spoken_by_sheet
from pipeline.intake.type_sheets import type_sheets
from pipeline.season.sheet_text import front_of, text_of_sheets
from pipeline.settings import Settings, read_settings
from tests.fuzz.inputs import CASES, Input

LIMITS = IntakeLimits(
    file_mib=1, unpacked_mib=4, columns=60, cell_letters=1000, workbook_cells=200, sheets=20
)
TIN = """
[[measure]]
name = "tin"
station = "KES"
kg = "18"
from = 2026-01-01
authority = "weighed at the station"
"""
# Rows that are read and told of, but have not arrived.
TOTALS = ("totals-row", "totals-empty", "totals-differ", "totals-unreadable")
PASSED_OVER = (*TOTALS, "repeated-header")


class Broken(AssertionError):
    """A promise that an input breaks."""


@cache
def settings() -> Settings:
    """Return the settings under which all inputs are read."""
    return read_settings(Path(CASES / "book.toml").read_text("utf-8") + TIN)


@dataclass(frozen=True, slots=True)
class Readable:
    """A sheet of an input whose cells and kind are known; `number`: that of the input."""

    number: int
    name: str
    kind: Kind
    cells: Cells


def look(given: Input) -> list[str]:
    """Read an input and return what became of each of its sheets: "read" or a code; else Broken."""
    codes, sheets = read(given)
    return codes + [code for sheet in sheets for code in type_together([sheet])]


def read(given: Input, number: int = 0) -> tuple[list[str], list[Readable]]:
    """Read an input as far as the kinds of its sheets; return the codes of those refused too."""
    parts = open_parts(given.content, LIMITS)
    _must(bool(parts), "a file without a sheet")
    names = [part.part for part in parts]
    _must(len(set(names)) == len(names), "two sheets of one name")
    codes: list[str] = []
    sheets: list[Readable] = []
    for part in parts:
        try:
            sheets.append(_read(given, part, number))
        except NotRead as problem:
            codes.append(_told(problem))
    return codes, sheets


def _read(given: Input, part: Part, number: int) -> Readable:
    cells = part_cells(part, LIMITS)
    _rows_add_up(given, cells)
    # The second reader takes as long again: of every fourth input only.
    if not part.worksheet and number % 4 == 0:
        careful = part_cells(part, LIMITS, careful_only=True)
        _must(cells.frame.equals(careful.frame), "the two readers differ in their rows")
        _must(cells.notes == careful.notes, "the two readers differ in their notes")
    name = part.name(given.name)
    kind = kind_of(cells, name)
    refuse_twice(kind, cells)
    return Readable(number, name, kind, cells)


def type_together(sheets: Sequence[Readable]) -> list[str]:
    """Type sheets of one kind in one go, as `take` does, and return the code of each."""
    kind = sheets[0].kind
    text = text_of_sheets(kind, [(n, sheet.cells, {}) for n, sheet in enumerate(sheets)])
    fronts = {n: front_of(kind, sheet.name, sheet.cells) for n, sheet in enumerate(sheets)}
    typed = type_sheets(kind, text, fronts, settings())
    texts, rows, unread = (
        frame.partition_by("sheet_no", as_dict=True, maintain_order=True)
        for frame in (text, typed.rows, typed.unreadable)
    )
    codes: list[str] = []
    for n, sheet in enumerate(sheets):
        of_sheet = TypedRows(
            rows.get((n,), typed.rows.clear()), unread.get((n,), typed.unreadable.clear())
        )
        try:
            _accounted_for(kind, sheet.cells, texts.get((n,), text.clear()), of_sheet)
            codes.append(_speaks(sheet, of_sheet.rows))
        except Exception as error:
            error.args = (f"{error.args[0] if error.args else error}", sheet.number)
            raise
    return codes


def _speaks(sheet: Readable, rows: pl.DataFrame) -> str:
    stations = [station.code for station in settings().stations]
    days = {season.code: (season.first_day, season.last_day) for season in settings().seasons}
    titles = sheet.cells.titles
    try:
        spoken = spoken_by_sheet(sheet.kind, rows)
        said = next(iter(spoken.values()), Spoken())
        speaks_for(sheet.kind, sheet.name, said, days, stations=stations, titles=titles)
    except NotRead as problem:
        return _told(problem)
    return "read"


def _told(problem: NotRead) -> str:
    """Return the code of a refusal; its sentence must be one, and a question have answers."""
    sentence = str(problem)
    _must(re.fullmatch(r"(?s)[A-Z\"].{15,}\.", sentence) is not None, f"no sentence: {sentence!r}")
    _must(re.fullmatch(r"[a-z-]+", problem.code) is not None, f"no code: {problem.code!r}")
    if isinstance(problem, Doubtful):
        _must(len(problem.answers) > 0, f"a question without answers: {sentence}")
    return problem.code


def _rows_add_up(given: Input, cells: Cells) -> None:
    numbers = cells.frame["row_no"].to_list()
    _must(all(a < b for a, b in pairwise(numbers)), "row numbers go back")
    _must(all(number > cells.header_row for number in numbers), "a row above the headings")
    for note in cells.notes:
        _must(bool(note.sentence.strip()), f"a note without a sentence: {note.code}")
    if given.rows is not None and cells.header_row == 1:
        aside = {note.row_no for note in cells.notes if note.code in PASSED_OVER}
        _must(sorted([*numbers, *aside]) == sorted(given.rows), f"rows {numbers}, not {given.rows}")


def _accounted_for(kind: Kind, cells: Cells, text: pl.DataFrame, typed: TypedRows) -> None:
    """Each row is there once; each cell with text has a value or a reason, each needed one too."""
    if not cells.frame.height:
        return
    rows = typed.rows
    _must(rows["row_no"].to_list() == cells.frame["row_no"].to_list(), "typed rows are others")
    why: dict[tuple[int, str], str] = {}
    for row_no, col, reason in typed.unreadable.select("row_no", "col", "reason").rows():
        _must((row_no, col) not in why, f"two reasons for row {row_no}, {col!r}")
        why[row_no, col] = reason
    known = {column.name for column in kind.columns} | {"beyond", ""}
    for (row_no, col), reason in why.items():
        _must(col in known and reason is not None, f"a reason of no column: {col!r}, {reason!r}")
        _must(all(sentence.strip() for sentence in REASONS[reason]), f"no sentence: {reason!r}")
        _must(row_no in rows["row_no"], f"a reason for no row: {row_no}")
    reasoned = {row_no for row_no, col in why if col == ""}
    places = match_headings(kind, cells.headings)
    for column in kind.columns:
        if not (column.required or column.name in places):
            continue
        columns = rows["row_no"], text[column.name], rows[column.stored]
        for row_no, cell, value in _side_by_side(*columns):
            filled = bool((cell or "").strip(BLANK))
            has_reason = (row_no, column.name) in why or row_no in reasoned
            if value is None and (filled or column.required):
                _must(has_reason, f"row {row_no}, {column.name}: {cell!r} is neither read nor told")
            _must(
                value is None or filled or column.name not in places,
                f"row {row_no}, {column.name}: {value!r} out of nothing",
            )


def _side_by_side(*columns: pl.Series) -> Iterator[tuple[int, str | None, object]]:
    return zip(*(column.to_list() for column in columns), strict=True)


def _must(holds: bool, what: str) -> None:
    if not holds:
        raise Broken(what)
