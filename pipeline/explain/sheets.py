"""Rows of kept sheets as they were written, for those who look at one of them."""

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, replace
from io import BytesIO
from threading import Lock

import polars as pl

from pipeline.book.book import Book
from pipeline.errors import DamageError
from pipeline.intake.found import Cells, NotRead
from pipeline.intake.kinds import Kind
from pipeline.intake.read import read_cells
from pipeline.intake.recognise import match_headings
from pipeline.settings import Settings

# Rows shown above and below the one in question.
AROUND = 3
# Sheets are remembered up to so many bytes, packed: those of four million rows take some 40 MB.
KEPT_BYTES = 96 << 20
# As they are, only the last: a page asks for the same sheet more than once.
OPEN = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A row of a sheet as written: its number, its cells, and which of them is in question."""

    row_no: int
    cells: list[str]
    here: bool
    marked: int


class SheetReader:
    """Reads kept sheets as they were written, and remembers them packed.

    Cells as polars holds them take ten times the room of their sheet, and reading a sheet anew six
    times as long as unpacking it; those looked at last stay as they are.
    """

    def __init__(self, book: Book) -> None:
        self.book = book
        self._lock = Lock()
        self._packed: OrderedDict[tuple[str, str], tuple[Cells, bytes]] = OrderedDict()
        self._open: OrderedDict[tuple[str, str], Cells] = OrderedDict()
        self._bytes = 0

    @property
    def full(self) -> bool:
        """Tell whether another sheet would take the place of one that is remembered."""
        return self._bytes > KEPT_BYTES * 9 // 10

    def cells(self, sha256: str, part: str, settings: Settings) -> Cells | None:
        """Return a sheet's cells, or None where it cannot be read now."""
        named = (sha256, part)
        with self._lock:
            if named in self._open:
                self._open.move_to_end(named)
                return self._open[named]
            known = self._packed.get(named)
            if known is not None:
                self._packed.move_to_end(named)
        try:
            cells = (
                read_cells(self.book.sheet(sha256), part, settings.intake.lifted())
                if known is None
                else replace(known[0], frame=pl.read_ipc(BytesIO(known[1])))
            )
        except (NotRead, DamageError):
            return None
        self._keep(named, cells, packed=known is not None)
        return cells

    def _keep(self, named: tuple[str, str], cells: Cells, *, packed: bool) -> None:
        room = BytesIO()
        if not packed:
            cells.frame.write_ipc(room, compression="zstd")
        with self._lock:
            self._open[named] = cells
            if len(self._open) > OPEN:
                self._open.popitem(last=False)
            if not packed and named not in self._packed:
                content = room.getvalue()
                self._packed[named] = (replace(cells, frame=cells.frame.clear()), content)
                self._bytes += len(content)
            while self._bytes > KEPT_BYTES and len(self._packed) > 1:
                _, gone = self._packed.popitem(last=False)
                self._bytes -= len(gone[1])


def masks(kind: Kind, cells: Cells) -> Callable[[int, str], str]:
    """Return what shows a cell: telephone and account numbers but for their last digits."""
    columns = {
        place: kind.column(name) for name, place in match_headings(kind, cells.headings).items()
    }

    def shown(place: int, text: str) -> str:
        column = columns.get(place)
        return column.shown(text) if column else text

    return shown


def written_lines(kind: Kind, cells: Cells, row_no: int, col: str) -> tuple[list[str], list[Line]]:
    """Return the headings and the rows around one, as the sheet wrote them."""
    places = match_headings(kind, cells.headings)
    numbers = cells.frame["row_no"].to_list()
    at = numbers.index(row_no) if row_no in numbers else 0
    near = cells.frame.slice(max(0, at - AROUND), 2 * AROUND + 1)
    shown = masks(kind, cells)
    lines = [
        Line(
            row_no=row["row_no"],
            cells=[shown(place, row[f"c{place}"] or "") for place in range(len(cells.headings))],
            here=row["row_no"] == row_no,
            marked=places.get(col, -1),
        )
        for row in near.iter_rows(named=True)
    ]
    return list(cells.headings), lines
