"""The clerk's correction sheets: only the rows sent back, in their sheet's own headings."""

import json
import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pipeline.book.book import Book, alone_in, kept_settings
from pipeline.intake.corrected import own_headings, sheet_label
from pipeline.intake.found import BROKEN
from pipeline.intake.read import read_cells
from pipeline.intake.told import note_said
from pipeline.intake.words import said
from pipeline.queue import season_flags
from pipeline.season.flag_frame import OPEN_SENT_BACK
from pipeline.season.flags import Flag
from pipeline.season.generations import current_path
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.season.tables import connect, rows
from reports.correction import SentBack, write_correction

# Sheet number and row number; a flag on the sheet as a whole stands at a row that no sheet has.
Place = tuple[int, int]
WHOLE = -1
WAIT_S = 600
# A comment on a cell is read at a glance, or not at all.
MOST_NOTES = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """A sheet with rows sent back: its name, hash, part and kind, and the numbers of these rows.

    `notes`: what was noticed about it as a whole, as JSON; `language`: that of its headings.
    """

    name: str
    sha256: str
    part: str
    kind: str
    notes: str
    language: str
    rows: set[int] = field(default_factory=set[int])


def write_corrections(book: Book) -> list[Path]:
    """Write a sheet for every one that has rows sent back into `corrections/`, and return them.

    Each speaks the language of its sheet's own headings. The folder holds what is open now: sheets
    that were mended since are taken away. One writes at a time (the desk and a command may both
    want to), so that the last one, who knows most, also writes last. BookError where another does
    not let go.
    """
    folder = book.path / "corrections"
    folder.mkdir(exist_ok=True)
    busy = "Another command is writing correction sheets. Wait for it to end and try again."
    with alone_in(folder, WAIT_S, busy):
        return _write_all(book, folder)


def _write_all(book: Book, folder: Path) -> list[Path]:
    made: list[Path] = []
    settings = kept_settings(book.journal())
    # Flags by the language that they are said in: most books need one.
    said_in: dict[str, dict[Place, list[Flag]]] = {}
    for sheet_no, sheet in _waiting(book).items():
        cells = read_cells(book.sheet(sheet.sha256), sheet.part, settings.intake.lifted())
        # A correction sheet that has to be corrected itself loses the columns that it added.
        headings = own_headings(cells)
        language = sheet.language
        if language not in said_in:
            said_in[language] = _flags_by_place(book, language)
        path = folder / f"{sheet_no:04d}_{_file_name(sheet.name)}.xlsx"
        lines = [
            _line(row, len(headings), _of_row(said_in[language], sheet_no, row_no), language)
            for row in cells.frame.iter_rows(named=True)
            if (row_no := row["row_no"]) in sheet.rows
        ]
        label = sheet_label(sheet.name, sheet_no)
        notes = _settled(sheet.notes, language)
        # Whoever takes it away meanwhile gets the old one or the new one whole.
        part = path.with_suffix(".part")
        write_correction(part, label, headings, lines, language=language, notes=notes)
        part.replace(path)
        made.append(path)
    # A part is what a killed writer left.
    for old in (*folder.glob("*.xlsx"), *folder.glob("*.part")):
        if old not in made:
            old.unlink()
    return made


def _line(row: dict[str, Any], width: int, flags: list[Flag], language: str) -> SentBack:
    cells = [row[f"c{position}"] for position in range(width)]
    return SentBack(
        row_no=row["row_no"],
        cells=[*cells, *filter(None, [(row["beyond"] or "").rpartition(BROKEN)[2]])],
        wrong=" ".join(_wrong(flag, language) for flag in flags),
        todo=" ".join(dict.fromkeys(flag.do for flag in flags)),
    )


def _settled(notes: str, language: str) -> list[str]:
    """Return what was noticed about a sheet as a whole, as sentences of a language."""
    found = [note_said(note, language) for note in json.loads(notes)]
    return found if len(found) <= MOST_NOTES else [*found[:MOST_NOTES], "…"]


def _wrong(flag: Flag, language: str) -> str:
    colon = said("colon", language)
    near = f" {said('near', language)}{colon}{', '.join(flag.near)}." if flag.near else ""
    return f"{flag.heading}{colon}{flag.say}{near}" if flag.heading else f"{flag.say}{near}"


def _file_name(name: str) -> str:
    """Return a file name for the correction of a sheet, also of one inside another file."""
    parts = [Path(part).stem for part in name.split(" / ")]
    return re.sub(r'[\\/:*?"<>|]', "_", "_".join(parts))


def _flags_by_place(book: Book, language: str) -> dict[Place, list[Flag]]:
    """Return the open flags that send a row back, by its sheet and row, or by the whole sheet."""
    found: dict[Place, list[Flag]] = {}
    for _, flag in season_flags(book, language, only=OPEN_SENT_BACK):
        found.setdefault((flag.sheet_no, flag.row), []).append(flag)
        if flag.rule == "missing-column":
            found.setdefault((flag.sheet_no, WHOLE), []).append(flag)
    return found


def _of_row(flags: dict[Place, list[Flag]], sheet_no: int, row_no: int) -> list[Flag]:
    return [*flags.get((sheet_no, WHOLE), []), *flags.get((sheet_no, row_no), [])]


def _waiting(book: Book) -> dict[int, Waiting]:
    """Return the sheets that have rows sent back, by number."""
    found: dict[int, Waiting] = {}
    journal = book.journal()
    for season in seasons_with_sheets(journal, kept_settings(journal)):
        path = current_path(book, season)
        if path is None:
            continue
        with connect(str(path)) as con:
            places = rows(
                con,
                "select s.sheet_no, s.name, s.sha256, s.part, s.kind, "
                "cast(s.notes as varchar), s.language, e.row_no from exceptions e "
                "inner join sheets s on s.sheet_no = e.sheet_no where e.state = 'sent_back' "
                "order by s.sheet_no, e.row_no",
            )
        for sheet_no, *of_sheet, row_no in places:
            if sheet_no not in found:
                fields = ("name", "sha256", "part", "kind", "notes", "language")
                found[sheet_no] = Waiting(**dict(zip(fields, of_sheet, strict=True)))
            found[sheet_no].rows.add(row_no)
    return found
