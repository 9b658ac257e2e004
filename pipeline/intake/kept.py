"""Keeping what was just read for the step after it, as far as memory allows."""

from collections.abc import Callable, Iterator, Sequence
from threading import Lock

from pipeline.intake.containers import Part, open_parts
from pipeline.intake.found import Cells
from pipeline.intake.limits import IntakeLimits
from pipeline.intake.read import cells_of
from pipeline.intake.together import AT_ONCE, BYTES_AT_ONCE, cells_together

# Rows of all sheets together that are kept: of three journal lines, one brought in, one that waits,
# one that is read. More are read again.
MOST_ROWS = 600_000
# A sheet's file by its hash, and its place in that file.
Named = tuple[str, str]


class Reader:
    """Reads kept sheets by hash and part; a sheet that was just read comes from memory, once.

    `rows`: how many are in memory; `given`: how many there were to keep in all. One thread may keep
    sheets while another asks for those before.
    """

    def __init__(self, limits: IntakeLimits) -> None:
        self.limits = limits.lifted()
        self._read: dict[Named, Cells] = {}
        self.rows = 0
        self.given = 0
        self._counting = Lock()
        self._plain: dict[Named, int] = {}
        self._file: tuple[str, list[Part]] = ("", [])

    def keep(self, sha256: str, part: str, cells: Cells, *, plain: bool = False) -> None:
        """Keep the cells of a sheet for the next call of `cells`, where there is room.

        `plain`: they came out of `cells_together`; where there is no room, that much is kept.
        """
        if plain and cells.encoding == "utf-8" and not cells.notes:
            self._plain[sha256, part] = cells.frame.height
        self.given += cells.frame.height
        with self._counting:
            if self.rows + cells.frame.height <= MOST_ROWS:
                self.rows += cells.frame.height
                self._read[sha256, part] = cells

    def cells(
        self, sheets: Sequence[Named], content: Callable[[str], bytes]
    ) -> Iterator[tuple[int, Cells]]:
        """Yield the cells of many sheets in their order, each in runs of rows, with its place.

        `content` gives the bytes of a file when they are needed.
        """
        waiting: dict[int, Part] = {}
        size = first = 0
        for place, named in enumerate(sheets):
            if named not in self._read:
                waiting[place] = self._part(*named, content)
                size += len(waiting[place].content)
            if place + 1 == len(sheets) or size >= BYTES_AT_ONCE or len(waiting) >= AT_ONCE:
                yield from self._some(range(first, place + 1), sheets, waiting)
                waiting, size, first = {}, 0, place + 1

    def _some(
        self, places: range, sheets: Sequence[Named], parts: dict[int, Part]
    ) -> Iterator[tuple[int, Cells]]:
        known = {place: self._plain.get(sheets[place]) for place in parts}
        known = {place: rows for place, rows in known.items() if rows is not None}
        together = cells_together(parts, self.limits, known)
        for place in places:
            if place in together:
                yield place, together.pop(place)
            elif place in parts:
                for cells in cells_of(parts[place], self.limits):
                    yield place, cells
            else:
                yield place, self._read[sheets[place]]
        for place in places:
            if (gone := self._read.pop(sheets[place], None)) is not None:
                with self._counting:
                    self.rows -= gone.frame.height

    def _part(self, sha256: str, part: str, content: Callable[[str], bytes]) -> Part:
        if self._file[0] != sha256:
            self._file = (sha256, open_parts(content(sha256), self.limits))
        parts = self._file[1]
        return next((one for one in parts if one.part == part), parts[0])
