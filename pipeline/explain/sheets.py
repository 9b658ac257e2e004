"""Rows of kept sheets as they were written, for those who look at one of them."""

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from threading import Lock

from pipeline.book.book import Book
from pipeline.errors import DamageError
from pipeline.intake.found import Cells, NotRead
from pipeline.intake.kinds import Kind
from pipeline.intake.read import read_cells
from pipeline.intake.recognise import match_headings
from pipeline.settings import Settings

# Rows shown above and below the one in question.
AROUND = 3
# Sheets are remembered up to so many bytes of cells: a season's usual ones all together.
KEPT_BYTES = 192 << 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A row of a sheet as written: its number, its cells, and which of them is in question."""

    row_no: int
    cells: list[str]
    here: bool
    marked: int


class SheetReader:
    """Reads kept sheets as they were written, and remembers what was looked at last."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self._lock = Lock()
        self._read: OrderedDict[tuple[str, str], Cells] = OrderedDict()
        self._bytes = 0

    def cells(self, sha256: str, part: str, settings: Settings) -> Cells | None:
        """Return a sheet's cells, or None where it cannot be read now."""
        named = (sha256, part)
        with self._lock:
            if named in self._read:
                self._read.move_to_end(named)
                return self._read[named]
        try:
            cells = read_cells(self.book.sheet(sha256), part, settings.intake.lifted())
        except (NotRead, DamageError):
            return None
        with self._lock:
            if named not in self._read:
                self._read[named] = cells
                self._bytes += cells.frame.estimated_size()
            while self._bytes > KEPT_BYTES and len(self._read) > 1:
                _, gone = self._read.popitem(last=False)
                self._bytes -= gone.frame.estimated_size()
        return cells


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
