"""How wide the columns of a report's tables are on paper, reckoned from the letters.

Left to itself the layout gives figures under long headings all they ask for on one line, and the
names beside them what is left: in some languages nothing.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from typing import Any

from reports.letters import width

# Points: the page between its margins, the gap of columns, the print of cells, headings and of a
# figure's code; as in the template.
WIDTH, GAP = 493.2, 9.0
CELL, SMALL, CODE = 9.0, 8.0, 6.5
# Letters that are drawn a little apart must never break a line.
_SLACK = 1.01
# How many lines headings and names may take, from what reads best to what is still read.
_LINES = ((1, 1), (2, 1), (2, 2), (3, 2), (3, 3), (4, 4), (9, 9))


def fitted(
    heads: Sequence[str], rows: Sequence[Sequence[Any]], text: int, total: Sequence[str]
) -> list[float]:
    """The points of each column of a table, as wide as the page together.

    The first `text` columns hold names, which may take some lines; codes and figures take one.
    A code is parted only where a name in it is too long for any page.
    """
    points: list[float] = []
    room = WIDTH - GAP * (len(heads) - 1)
    for lines in _LINES:
        points = _columns(heads, rows, text, total, lines)
        if sum(points) <= room:
            break
    if text:
        _share(points, _columns(heads, rows, text, total, (1, 1))[:text], room)
    return [round(point, 2) for point in points]


def _share(points: list[float], whole: Sequence[float], room: float) -> None:
    """Gives what is left to the names: first to be on one line, then to the last of them."""
    left = room - sum(points)
    if left < 0:
        # Names of one word, longer than there is room for, are broken where they must.
        names = points[: len(whole)]
        part = max(0.1, 1 + left / sum(names))
        points[: len(whole)] = [point * part for point in names]
        return
    for n, wanted in enumerate(whole):
        more = min(left, max(0, wanted - points[n]))
        points[n] += more
        left -= more
    points[len(whole) - 1] += left


def _columns(
    heads: Sequence[str],
    rows: Sequence[Sequence[Any]],
    text: int,
    total: Sequence[str],
    lines: tuple[int, int],
) -> list[float]:
    of_head, of_name = lines
    made: list[float] = []
    for n, head in enumerate(heads):
        cells = [row[n] for row in rows]
        wide = [SMALL * on_lines(head, of_head)]
        wide += [_cell(cell, of_name if n < text else 1) for cell in cells]
        wide += [CELL * width(total[n], bold=True)] if total else []
        made.append(max(wide) * _SLACK)
    return made


def _cell(cell: Any, lines: int) -> float:
    if isinstance(cell, str):
        return CELL * on_lines(cell, lines)
    small = cell["small"]
    under = CODE * width(small) if cell["code"] else SMALL * on_lines(small, lines)
    return max(CELL * on_lines(cell["text"], lines), under)


def on_lines(words: str, lines: int) -> float:
    """The least width in em at which some words take so many lines; their widest, where more."""
    if lines == 1:
        return width(words)
    parts = [width(word) for word in words.split(" ")]
    blank = width(" ")
    ends = range(len(parts) + 1)
    sums = {sum(parts[i:j]) + blank * (j - i - 1) for i in ends for j in ends[i + 1 :]}
    wide = sorted(one for one in sums if one >= max(parts))
    at = bisect_left(wide, True, key=_takes(parts, blank, lines))
    return wide[at]


def _takes(parts: Sequence[float], blank: float, lines: int) -> Callable[[float], bool]:
    def fits(room: float) -> bool:
        taken, used = 1, 0.0
        for part in parts:
            longer = used + (blank if used else 0) + part
            if longer <= room + 1e-9:
                used = longer
            else:
                taken, used = taken + 1, part
        return taken <= lines

    return fits
