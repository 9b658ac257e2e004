"""Quotation marks in delimited text: whether each opens or closes a whole cell."""

import numpy as np

QUOTE, LINE_END, RETURN = b'"\n\r'
# What the careful reader takes for one cell at most, as the csv module has it.
LONGEST = 131_072


def delimiters_outside(run: bytes, delimiter: str) -> int | None:
    """Return how many delimiters of some whole lines stand outside quotation marks.

    None where a mark stands inside an unquoted cell, a cell goes on behind its closing mark or into
    the next line, a mark does not close, or a line is very long: there two readers might differ.
    """
    comma = delimiter.encode()
    if len(comma) != 1:
        return None
    if b'"' not in run:
        return run.count(comma)
    letters = np.frombuffer(run, np.uint8)
    marks = np.flatnonzero(letters == QUOTE)
    opening, closing = marks[0::2], marks[1::2]
    if opening.size != closing.size:
        return None
    # Two marks in a row inside a cell stand for one: a cell that closes and opens at once.
    doubled = opening[1:] == closing[:-1] + 1
    begins, ends = np.append(False, doubled), np.append(doubled, False)
    around = np.concatenate(([LINE_END], letters, [LINE_END]))
    before, after = around[opening], around[closing + 2]
    begins |= (before == comma[0]) | (before == LINE_END)
    ends |= (after == comma[0]) | (after == LINE_END) | (after == RETURN)
    if not (begins.all() and ends.all()):
        return None
    inside = np.bitwise_xor.accumulate(letters == QUOTE)
    lines = letters == LINE_END
    ends_of_lines = np.append(np.flatnonzero(lines), letters.size)
    if (inside & lines).any() or np.diff(ends_of_lines, prepend=0).max() > LONGEST:
        return None
    return int(np.count_nonzero(~inside & (letters == comma[0])))
