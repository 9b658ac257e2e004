"""How wide the columns of a printed table are and how high its rows, reckoned from the letters.

Typst lays a cell of unknown width or height out twice. Here each column is as wide as its longest
cell and what stands above it, and one column or the gaps take what is left; a row whose cells
surely take so many lines has a set height. Any other row is 0 high, which is to say: measured.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf

from reports.letters import CAPITAL, heading, width

# Letters that are drawn a little apart, and the last bit of a number, must never break a line.
_SLACK = 1.01
_HAIR = 0.001
# A height that must be measured.
_UNKNOWN = 99.0
# The print of a figure's code, of the letters before it.
TAIL = 0.56
# So much more than there is room for may still fit, where letters are drawn nearer to each other.
_DOUBT = 1.03
# A row lower than its letters by a hair would be laid out as if they had to go on to a next page.
_AIR = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How a table is set, in points: its width, its letters, the space over and under a cell.

    `lead`: between two lines, of the size of its letters.
    """

    width: float
    size: float
    head: float
    gap: float
    inset: float
    lead: float = 0.55


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A heading and how wide each cell under it is, in em; one wider than `most` may be broken.

    `words`: the widest part of each cell that no line may break; without, no cell is broken.
    `tails`: how wide the small print is that each ends with, on a line of its own where need be.
    """

    head: str
    cells: Sequence[float]
    most: float = inf
    words: Sequence[float] = ()
    tails: Sequence[float] = ()

    def least(self, look: Look) -> float:
        """The width in points for its cells on one line and its heading on two."""
        cells = max((cell for cell in self.cells if cell <= self.most), default=0)
        return max(cells * look.size, heading(self.head)[0] * look.head) * _SLACK


def texts(head: str, words: Sequence[str], *, bold: bool = False, most: float = inf) -> Column:
    """A column of plain words or figures."""
    return Column(head=head, cells=[width(one, bold=bold) for one in words], most=most)


def spread(look: Look, columns: Sequence[Column]) -> tuple[list[float], float]:
    """The points of each column, and the gap that makes them as wide as the table together."""
    points = [column.least(look) for column in columns]
    return points, (look.width - sum(points)) / (len(points) - 1)


def filled(look: Look, columns: Sequence[Column], fluid: int = 0) -> list[float]:
    """The points of each column, of which one takes what the others and the gaps leave."""
    points = [column.least(look) for column in columns]
    points[fluid] = 0
    points[fluid] = look.width - sum(points) - look.gap * (len(points) - 1)
    return points


def heights(look: Look, columns: Sequence[Column], points: Sequence[float]) -> list[float]:
    """The heading's height and that of each row, in points; one for all rows where all fit."""
    on_one = all(
        heading(column.head)[1] * look.head * _SLACK <= point + _HAIR
        for column, point in zip(columns, points, strict=True)
    )
    edge = 2 * look.inset + _AIR
    head = CAPITAL * look.head * (1 if on_one else 2) + (0 if on_one else look.lead * look.size)
    rows = [0.0] * len(columns[0].cells)
    for column, point in zip(columns, points, strict=True):
        room = (point + _HAIR) / (look.size * _SLACK)
        for n, high in enumerate(_high(look, column, room)):
            rows[n] = max(rows[n], high)
    points_high = [row * look.size + edge if row < _UNKNOWN else 0 for row in rows]
    alike = set(points_high) == {CAPITAL * look.size + edge}
    return rounded([head + edge, *(points_high[:1] if alike else points_high)])


def _high(look: Look, column: Column, room: float) -> Iterator[float]:
    """The height of each cell in em, `_UNKNOWN` where that hangs on where its words break."""
    none = (0.0,) * len(column.cells)
    parts = zip(column.cells, column.words or column.cells, column.tails or none, strict=True)
    for cell, word, tail in parts:
        if cell <= room:
            yield CAPITAL
        elif cell <= room * _DOUBT:
            yield _UNKNOWN
        elif tail and cell - tail <= room:
            yield CAPITAL + look.lead + CAPITAL * TAIL
        # A line is full when the next word does not fit.
        elif cell + word <= 2 * room:
            yield 2 * CAPITAL + look.lead
        else:
            yield _UNKNOWN


def rounded(points: Sequence[float]) -> list[float]:
    """Points as they are handed on."""
    return [round(point, 2) for point in points]
