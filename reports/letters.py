"""How wide words are in print, by the widths that the font itself declares."""

from __future__ import annotations

from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any

from fontTools.ttLib import TTFont

_REGULAR, _BOLD = 400, 700
# Letters of other scripts stand in other fonts; few are wider than their height.
_FOREIGN = 1.2
# The height of a capital over the line it stands on: what a line of a table takes.
CAPITAL = 0.714


class _Widths(dict[str, float]):
    """The width of each letter in em, looked up in the font when it is first asked for."""

    def __init__(self, font: Any, weight: int) -> None:
        super().__init__()
        self._names: dict[int, str] = font.getBestCmap()
        self._glyphs = font.getGlyphSet(location={"wght": weight})
        self._per_em: int = font["head"].unitsPerEm

    def __missing__(self, letter: str) -> float:
        name = self._names.get(ord(letter))
        found = _FOREIGN if name is None else self._glyphs[name].width / self._per_em
        self[letter] = found
        return found


@cache
def _widths(weight: int) -> _Widths:
    folder = Path(import_module("fontpkg_noto_sans").ROOT) / "files"
    (path,) = folder.glob("NotoSans[[]*")
    return _Widths(TTFont(path, lazy=True), weight)


def width(words: str, *, bold: bool = False) -> float:
    """The width of some words on one line, in em: "kg" gives 1.15.

    Letters that are drawn nearer to each other are not reckoned with, which is a hundredth at most.
    """
    widths = _widths(_BOLD if bold else _REGULAR)
    return sum([widths[letter] for letter in words])


@cache
def heading(words: str) -> tuple[float, float]:
    """The width of a column's heading in em, in as few letters as two lines need and on one."""
    parts = words.split(" ")
    whole = width(words)
    halves = [
        max(width(" ".join(parts[:at])), width(" ".join(parts[at:]))) for at in range(1, len(parts))
    ]
    return min([whole, *halves]), whole
