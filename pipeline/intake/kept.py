"""Keeping what was just read for the step after it, as far as memory allows."""

from collections.abc import Callable, Iterator

from pipeline.intake.containers import Part, open_parts
from pipeline.intake.found import Cells
from pipeline.intake.limits import IntakeLimits
from pipeline.intake.read import cells_of

# Rows of all sheets together that are kept; the others are read again.
MOST_ROWS = 2_000_000


class Reader:
    """Reads kept sheets by hash and part; a sheet that was just read comes from memory."""

    def __init__(self, limits: IntakeLimits) -> None:
        self.limits = limits.lifted()
        self._read: dict[tuple[str, str], Cells] = {}
        self._rows = 0
        self._file: tuple[str, list[Part]] = ("", [])

    def keep(self, sha256: str, part: str, cells: Cells) -> None:
        """Keep the cells of a sheet for the next call of `cells`, where there is room."""
        if self._rows + cells.frame.height <= MOST_ROWS:
            self._rows += cells.frame.height
            self._read[sha256, part] = cells

    def cells(self, sha256: str, part: str, content: Callable[[str], bytes]) -> Iterator[Cells]:
        """Yield a sheet's cells in runs of rows; `content` gives its file's bytes when needed."""
        kept = self._read.get((sha256, part))
        if kept is not None:
            yield kept
            return
        if self._file[0] != sha256:
            self._file = (sha256, open_parts(content(sha256), self.limits))
        parts = self._file[1]
        found = next((p for p in parts if p.part == part), parts[0])
        yield from cells_of(found, self.limits)
