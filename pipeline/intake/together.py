"""Sheets in which nothing needs a closer look are read at once, those with the same headings."""

import codecs
import re
import string
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.intake.containers import Part
from pipeline.intake.delimited import DELIMITERS, fast_rows, open_delimited
from pipeline.intake.encodings import Text, to_utf8
from pipeline.intake.found import Cells, NotRead
from pipeline.intake.headings import count_known
from pipeline.intake.layout import Header, blank, first_heading
from pipeline.intake.limits import IntakeLimits
from pipeline.intake.quotes import LINE_END, delimiters_outside
from pipeline.intake.totals import may_be_total

# Sheets and bytes that are read at once; a sheet with more bytes gains nothing from company.
AT_ONCE = 128
BYTES_AT_ONCE = 1 << 24
LARGEST = 1 << 22


@dataclass(frozen=True, slots=True)
class _Plain:
    """A sheet that begins with its headings, its quotation marks sound: `rows` lines of data.

    The first of them begins with byte `body` of the text. `odd`: one may begin with a blank cell
    or be the headings again. `known`: a reading before found nothing to be looked at more closely.
    """

    place: int
    text: Text
    header: Header
    delimiter: str
    body: int
    rows: int
    quoted: bool
    odd: bool = False
    known: bool = False


def cells_together(
    parts: Mapping[int, Part], limits: IntakeLimits, known: Mapping[int, int] | None = None
) -> dict[int, Cells]:
    """Read the sheets among `parts` that are plain; the result is what `cells_of` gives for each.

    By their key in `parts`. Those that are left out have something to be looked at more closely:
    title lines, odd quotation marks, blank or repeated or uneven rows, totals, too long cells.
    `known`: how many rows those have that came out of a reading like this before, as UTF-8 without
    a note: they need no look at all.
    """
    known = known or {}
    groups: dict[tuple[object, ...], list[_Plain]] = {}
    for place, part in parts.items():
        rows = known.get(place)
        plain = _plain(place, part, limits) if rows is None else _again(place, part, limits, rows)
        if plain is not None:
            # Marks of one sheet would have the cells of all looked through for them.
            key = (plain.delimiter, plain.quoted, *plain.header.headings)
            groups.setdefault(key, []).append(plain)
    found: dict[int, Cells] = {}
    for group in groups.values():
        found |= _read(group, limits)
    return found


def _plain(place: int, part: Part, limits: IntakeLimits) -> _Plain | None:
    if part.problem is not None or part.worksheet or len(part.content) > LARGEST:
        return None
    try:
        text = to_utf8(part.content)
    except NotRead:
        return None
    data = text.data
    body = data.find(b"\n", text.start) + 1
    top = _header(data[text.start : body], limits)
    if top is None or (b"\r" in data and data.count(b"\r") != data.count(b"\r\n")):
        return None
    header, delimiter = top
    letters = np.frombuffer(data, np.uint8)
    ends = np.flatnonzero(letters == LINE_END)
    if len(data) == body or data.endswith(b"\r"):
        return None
    if ends[-1] + 1 < letters.size:
        ends = np.append(ends, letters.size)
    # A line with fewer bytes than a cell may have letters has no cell that is too long.
    if np.diff(ends, prepend=text.start).max() > limits.cell_letters:
        return None
    # As many delimiters as even rows have; where some have more and some fewer, reading tells.
    if delimiters_outside(data, delimiter) != ends.size * (header.width - 1):
        return None
    firsts = letters[ends[:-1] + 1]
    odd = bool(_odd_firsts(header.headings[0][0])[firsts].any())
    return _Plain(place, text, header, delimiter, body, ends.size - 1, b'"' in data, odd)


@lru_cache(maxsize=256)
def _odd_firsts(letter: str) -> NDArray[np.bool_]:
    """Return which first bytes a row may have that is blank, or is headings that begin so again.

    All but letters and digits: what else may stand before a heading is not compared.
    """
    usual = set((string.ascii_letters + string.digits).encode())
    odd = np.ones(256, np.bool_)
    odd[list(usual - set((letter.lower() + letter.upper()).encode()))] = False
    return odd


def _again(place: int, part: Part, limits: IntakeLimits, rows: int) -> _Plain | None:
    data = part.content
    body = data.find(b"\n") + 1
    top = _header(data[:body], limits)
    if top is None or data.startswith(codecs.BOM_UTF8):
        return None
    return _Plain(place, Text(data, 0, "utf-8"), *top, body, rows, b'"' in data, known=True)


@lru_cache(maxsize=256)
def _header(line: bytes, limits: IntakeLimits) -> tuple[Header, str] | None:
    """Return the header and delimiter of a first line that is nothing but known headings."""
    try:
        top = open_delimited(Text(line, 0, "utf-8"), limits)
    except NotRead:
        return None
    header = top.header
    known = count_known(header.headings)
    plain = header.row_no == 1 and known == header.width > 3
    plain &= delimiters_outside(line, top.delimiter) == header.width - 1
    return (header, top.delimiter) if plain and top.delimiter in DELIMITERS[:4] else None


def _read(group: Sequence[_Plain], limits: IntakeLimits) -> dict[int, Cells]:
    """Read sheets with the same headings in one go; leave out those with a row to be looked at."""
    header = group[0].header
    heights = np.array([sheet.rows for sheet in group])
    starts = np.cumsum(heights) - heights
    bodies = [body for sheet in group for body in _bodies(sheet)]
    frame = fast_rows(bodies, header, group[0].delimiter, quoted=group[0].quoted)
    if frame is None or frame.height != heights.sum():
        return {}
    row_no = np.arange(frame.height) - np.repeat(starts, heights) + header.row_no + 1
    frame = frame.select(
        pl.Series("row_no", row_no, dtype=pl.Int32),
        *header.columns,
        pl.lit(None, pl.String).alias("beyond"),
    ).rechunk()
    odd: set[int] = set()
    if not all(sheet.known for sheet in group):
        closer = np.flatnonzero(_needs_a_closer_look(frame, group).to_numpy())
        odd = set(np.searchsorted(starts, closer, side="right") - 1)
    return {
        sheet.place: Cells(
            header.headings,
            header.row_no,
            frame.slice(int(starts[at]), sheet.rows),
            "fast",
            encoding=sheet.text.encoding,
            notes=sheet.text.notes,
        )
        for at, sheet in enumerate(group)
        if at not in odd
    }


def _bodies(sheet: _Plain) -> list[bytes | memoryview]:
    """Return the lines of data of a sheet, each with its end."""
    data = sheet.text.data
    body = memoryview(data)[sheet.body :]
    return [body] if data.endswith(b"\n") else [body, b"\n"]


def _needs_a_closer_look(frame: pl.DataFrame, group: Sequence[_Plain]) -> pl.Series:
    """Tell of each row whether it may be blank, the headings again, or a total."""
    header = group[0].header
    total = may_be_total(frame, header)
    if not any(sheet.odd for sheet in group):
        return total
    place, heading = first_heading(header)
    # A total without a word for it has an empty first cell, as a blank row has.
    repeated = pl.col(place).str.contains(f"(?i){re.escape(heading)}")
    return frame.select(pl.any_horizontal(total, blank(place), repeated)).to_series()
