"""Quotation marks in delimited text: whether each opens or closes a whole cell."""

import numpy as np
from numpy.typing import NDArray

QUOTE, LINE_END, RETURN = b'"\n\r'
# What the careful reader takes for one cell at most, as the csv module has it.
LONGEST = 131_072
Places = NDArray[np.intp]


def delimiters_outside(run: bytes, delimiter: str) -> int | None:
    """Return how many delimiters of some whole lines stand outside quotation marks.

    None where a mark stands inside an unquoted cell, a cell goes on behind its closing mark or into
    the next line, a mark does not close, or a line is very long: there two readers might differ.
    """
    comma = delimiter.encode()
    if len(comma) != 1:
        return None
    letters = np.frombuffer(run, np.uint8)
    if b'"' not in run:
        return int(np.count_nonzero(letters == comma[0]))
    marks = np.flatnonzero(letters == QUOTE)
    opening, closing = marks[0::2], marks[1::2]
    if opening.size != closing.size:
        return None
    # Two marks in a row inside a cell stand for one: a cell that closes and opens at once.
    doubled = opening[1:] == closing[:-1] + 1
    begins, ends = np.append(False, doubled), np.append(doubled, False)
    last = letters.size - 1
    before = np.where(opening > 0, letters[opening - 1], LINE_END)
    after = np.where(closing < last, letters[np.minimum(closing + 1, last)], LINE_END)
    begins |= (before == comma[0]) | (before == LINE_END)
    ends |= (after == comma[0]) | (after == LINE_END) | (after == RETURN)
    if not (begins.all() and ends.all()):
        return None
    lines = np.flatnonzero(letters == LINE_END)
    if (
        _inside(lines, opening, closing)
        or np.diff(lines, prepend=0, append=last + 1).max() > LONGEST
    ):
        return None
    commas = np.flatnonzero(letters == comma[0])
    return commas.size - _inside(commas, opening, closing)


def _inside(places: Places, opening: Places, closing: Places) -> int:
    """Count the places that stand between an opening mark and its closing one."""
    return int((np.searchsorted(places, closing) - np.searchsorted(places, opening)).sum())
