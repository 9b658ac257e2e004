"""Sheets in which nothing needs a closer look are read at once, those with the same headings."""

import codecs
import re
import string
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import polars as pl

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
LARGEST = 1 << 25


@dataclass(frozen=True, slots=True)
class _Plain:
    """A sheet that begins with its headings, its quotation marks sound: `rows` lines of data.

    The first of them begins with byte `body` of the text. `known`: a reading before found nothing
    to be looked at more closely.
    """

    place: int
    text: Text
    header: Header
    delimiter: str
    body: int
    rows: int
    quoted: bool
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
    if len(data) == body or data.endswith(b"\r") or _long_line(text, limits.cell_letters):
        return None
    ends = int(np.count_nonzero(np.frombuffer(data, np.uint8) == LINE_END))
    lines = ends + (not data.endswith(b"\n"))
    # As many delimiters as even rows have; where some have more and some fewer, reading tells.
    if delimiters_outside(data, delimiter) != lines * (header.width - 1):
        return None
    return _Plain(place, text, header, delimiter, body, lines - 1, b'"' in data)


def _long_line(text: Text, longest: int) -> bool:
    """Tell whether a line has more bytes than a cell may have letters; else no cell is too long."""
    data, at = text.data, text.start
    while at + longest < len(data):
        # From the beginning of a line to that of the last one within reach: few looks for many.
        end = data.rfind(b"\n", at, at + longest + 1)
        if end < 0:
            return True
        at = end + 1
    return False


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
    row_no = np.arange(header.row_no + 1, header.row_no + 1 + frame.height, dtype=np.int32)
    row_no -= np.repeat(starts.astype(np.int32), heights)
    # In one piece, cells take the least room; to select them with others would copy them again.
    frame = frame.rechunk()
    frame.insert_column(0, pl.Series("row_no", row_no))
    beyond = pl.Series("beyond", [None], pl.String).new_from_index(0, frame.height)
    frame.insert_column(frame.width, beyond)
    odd: set[int] = set()
    if not all(sheet.known for sheet in group):
        closer = _needs_a_closer_look(frame, header).arg_true().to_numpy()
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


def _needs_a_closer_look(frame: pl.DataFrame, header: Header) -> pl.Series:
    """Tell of each row whether it may be blank, the headings again, or a total."""
    looked = may_be_total(frame, header)
    place, heading = first_heading(header)
    if _some_odd(frame[place], heading[0]):
        # A total without a word for it has an empty first cell, as a blank row has.
        repeated = pl.col(place).str.contains(f"(?i){re.escape(heading)}").fill_null(False)
        looked |= frame.select(blank(place) | repeated).to_series()
    return looked


def _some_odd(first: pl.Series, letter: str) -> bool:
    """Tell whether some cell may be blank, or a heading that begins with this letter."""
    if first.null_count():
        return True
    odd = pl.Series([True]).new_from_index(0, first.len())
    # Compared one by one: an expression would wait for a thread, and threads are busy.
    for low, high in _usual(letter):
        odd &= (first < low) | (first >= high)
        if not odd.any():
            return False
    return True


@lru_cache(maxsize=256)
def _usual(letter: str) -> tuple[tuple[str, str], ...]:
    """Return the spans, up to before their ends, of what cells begin with that are neither.

    Digits, and letters but this one: what else may stand before a heading is not compared.
    """
    own = f"[{re.escape(letter.lower() + letter.upper())}]"
    spans = [
        span
        for letters in (string.digits, string.ascii_uppercase, string.ascii_lowercase)
        for span in re.split(own, letters)
        if span
    ]
    return tuple((span[0], chr(ord(span[-1]) + 1)) for span in spans)
