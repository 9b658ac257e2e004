"""Puts sheets into a season file: typed rows, cells not read, and the sheets themselves."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from typing import Any

import duckdb
import polars as pl

from pipeline.book.book import Book
from pipeline.intake.corrected import own_headings
from pipeline.intake.found import Cells
from pipeline.intake.headings import language_of
from pipeline.intake.kept import Reader
from pipeline.intake.kinds import Kind, kinds
from pipeline.intake.recognise import match_headings, near_heading, notes_on_kind
from pipeline.intake.settle import Front, SheetForm
from pipeline.intake.told import stored_problem
from pipeline.intake.type_sheets import type_sheets
from pipeline.season.amend import carry_amendments
from pipeline.season.frames import Inserter, insert_frame, insert_rows, register_frame
from pipeline.season.kept_sheets import KeptSheet
from pipeline.season.sheet_text import Given, front_of, text_of_sheets
from pipeline.season.tables import rows
from pipeline.settings import Settings

# Rows of a kind that are typed together: the more, the less time and the more memory.
ROWS_AT_ONCE = 100_000


class Incoming:
    """Rows of sheets on their way into a season file: read, typed and inserted, many at once.

    Between `add` and `finish` some may wait for others of their kind, and the connection is not to
    be used for anything else until `wait` has returned. `in_turn`: nothing is done side by side.
    """

    def __init__(
        self,
        con: duckdb.DuckDBPyConnection,
        book: Book,
        settings: Settings,
        *,
        in_turn: bool = False,
    ) -> None:
        self._con = con
        self._book = book
        self._settings = settings
        self._into = Inserter(con, _put, in_turn=in_turn)
        # Asked now, since nothing can be while rows go in.
        self._versions: dict[str | None, int] = dict(
            rows(con, "select slot, count(*) from sheets where slot is not null group by slot")
        )
        self._sheets: list[KeptSheet] = []
        self._waiting: dict[str, list[Given]] = {}
        self._height: dict[str, int] = {}
        self._absent: list[tuple[int, str, int]] = []
        self._last: dict[int, Cells] = {}
        self._fronts: dict[int, Front] = {}
        self._forms: dict[int, SheetForm] = {}

    def add(self, sheets: Sequence[KeptSheet], reader: Reader | None) -> None:
        """Read the cells of more sheets; insert those of kinds of which enough have come."""
        reader = reader or Reader(self._settings.intake)
        self._sheets += sheets
        of_kind = [sheet for sheet in sheets if sheet.entry["kind"]]
        named = [(sheet.entry["sha256"], sheet.part) for sheet in of_kind]
        for place, cells in reader.cells(named, self._book.sheet):
            sheet = of_kind[place]
            kind = kinds()[sheet.entry["kind"]]
            if sheet.sheet_no not in self._last:
                self._fronts[sheet.sheet_no] = front_of(kind, sheet.entry["name"], cells)
                self._absent += _absent_columns(kind, sheet, cells)
            self._last[sheet.sheet_no] = replace(cells, frame=cells.frame.clear())
            self._waiting.setdefault(kind.name, []).append((sheet.sheet_no, cells, _said(sheet)))
            self._height[kind.name] = self._height.get(kind.name, 0) + cells.frame.height
            if self._height[kind.name] >= ROWS_AT_ONCE:
                self._insert(kind)

    def finish(self) -> None:
        """Insert the rows that wait, and note of each sheet what was noticed."""
        # The most first: others are typed while these go in.
        for name in sorted(self._waiting, key=lambda name: -self._height[name]):
            self._insert(kinds()[name])
        self._into.finish()
        con, sheets = self._con, self._sheets
        noted = self._noted()
        self._into.wait()
        if noted:
            register_frame(con, "noted_sheets", pl.DataFrame(noted, infer_schema_length=None))
            con.execute("insert into sheets by name select * from noted_sheets")
            con.unregister("noted_sheets")
        for name in {sheet.entry["kind"] for sheet in sheets} & kinds().keys():
            carry_amendments(con, kinds()[name], self._settings)
        _note_fills(con, sheets)
        by_no = {sheet.sheet_no: sheet for sheet in sheets}
        for sheet_no, column, header_row in self._absent:
            # In the place of a value: the heading that may have been meant for it.
            kind = by_no[sheet_no].entry["kind"]
            near = near_heading(kind, own_headings(self._last[sheet_no]), column)
            con.execute(
                "insert into unreadable values (?, ?, ?, ?, ?, 'no-such-column')",
                [kind, sheet_no, header_row, column, near or None],
            )

    def wait(self) -> None:
        """Wait until nothing uses the connection."""
        self._into.wait()

    def _insert(self, kind: Kind) -> None:
        """Type and insert the rows of one kind that wait."""
        found = self._waiting.pop(kind.name)
        self._height[kind.name] = 0
        own = {sheet_no: self._fronts[sheet_no] for sheet_no, _, _ in found}
        text = text_of_sheets(kind, found)
        # Cells as they were read are as large again as their text side by side.
        found.clear()
        typed = type_sheets(kind, text, own, self._settings)
        del text
        missing = pl.DataFrame(
            [(no, col) for no, col, _ in self._absent],
            schema={"sheet_no": pl.Int32, "col": pl.String},
            orient="row",
        )
        # A heading that is missing is said once, not again in every row.
        unreadable = typed.unreadable.join(
            missing, on=["sheet_no", "col"], how="anti", maintain_order="left"
        )
        self._forms |= typed.forms
        # Sheets come in the order of their numbers and rows in theirs; DuckDB keeps that order.
        self._into.insert(
            {
                kind.name: typed.rows,
                "unreadable": unreadable,
                "converted": typed.converted,
            },
            # A register comes once and whole.
            to_the_last=not kind.day,
        )

    def _noted(self) -> list[dict[str, Any]]:
        """Return what is noted of the sheets themselves, each as the next version of its slot."""
        offered = self._settings.languages
        noted: list[dict[str, Any]] = []
        for sheet in self._sheets:
            entry, cells = sheet.entry, self._last.get(sheet.sheet_no)
            slot = entry["slot"] or None
            self._versions[slot] = self._versions.get(slot, 0) + 1 if slot else 1
            noted.append(
                {
                    "sheet_no": sheet.sheet_no,
                    **{key: entry[key] or None for key in ("sha256", "name", "kind")},
                    **{key: entry[key] or None for key in ("station", "week", "recorder")},
                    "slot": slot,
                    "version": self._versions[slot],
                    "taken_day": sheet.day,
                    "arrived": entry["arrived"],
                    "reader": cells.reader if cells else None,
                    "headings": "{}",
                    "problem": stored_problem(entry["problem"]),
                    "language": entry.get("language") or offered[0],
                    "part": sheet.part,
                    "encoding": cells.encoding if cells else "",
                    "only_adds": bool(entry.get("only_adds")),
                    "notes": "[]",
                    **(_of_cells(sheet, cells, self._forms, offered) if cells is not None else {}),
                }
            )
        return noted

    def close(self) -> None:
        """End what is under way; rows that wait are not inserted."""
        self._into.close()


def _put(con: duckdb.DuckDBPyConnection, name: str, frame: pl.DataFrame) -> None:
    """Insert rows of a kind, or of the table that is called so."""
    if name in kinds():
        insert_rows(con, kinds()[name], frame)
    else:
        insert_frame(con, name, frame)


def _note_fills(con: duckdb.DuckDBPyConnection, sheets: Sequence[KeptSheet]) -> None:
    """Note which rows the rows of correction sheets fill."""
    noted = [
        [sheet.entry["kind"], sheet.sheet_no, *fill]
        for sheet in sheets
        for fill in sheet.entry.get("fills", ())
    ]
    if noted:
        con.executemany("insert into fills values (?, ?, ?, ?, ?)", noted)


def _said(sheet: KeptSheet) -> Mapping[str, str]:
    """Return the station and recorder that somebody gave for a sheet, for its empty cells."""
    said = sheet.entry.get("said", {})
    return {name: said[name] for name in ("station", "recorder") if name in said}


def _absent_columns(kind: Kind, sheet: KeptSheet, cells: Cells) -> list[tuple[int, str, int]]:
    given = match_headings(kind, cells.headings).keys() | _said(sheet).keys()
    return [
        (sheet.sheet_no, column.name, cells.header_row)
        for column in kind.columns
        if column.required and column.name not in given
    ]


def _of_cells(
    sheet: KeptSheet, cells: Cells, forms: Mapping[int, SheetForm], offered: Sequence[str]
) -> dict[str, Any]:
    """Return what a sheet's cells tell about it: headings, columns that lack, what was noticed."""
    kind = kinds()[sheet.entry["kind"]]
    places = match_headings(kind, cells.headings)
    headings = {name: cells.headings[place] for name, place in places.items()}
    own = own_headings(cells)
    lacking = [
        text
        for _, name, _ in _absent_columns(kind, sheet, cells)
        for text in (name, near_heading(kind.name, own, name))
    ]
    settled = forms[sheet.sheet_no].notes if sheet.sheet_no in forms else ()
    notes = [
        *cells.notes,
        *notes_on_kind(kind, cells),
        *(replace(note, row_no=cells.header_row) for note in settled),
    ]
    problem = {"code": "missing-column", "details": lacking} if lacking else None
    return {
        "headings": json.dumps(headings, ensure_ascii=False),
        "problem": stored_problem(problem),
        # A correction sheet that has to be corrected itself speaks as its own headings do.
        "language": language_of(kind.name, own, offered),
        "notes": json.dumps([asdict(note) for note in notes], ensure_ascii=False),
    }
