"""Sheets in which nothing needs a closer look are read at once, those with the same headings."""

import codecs
import re
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
from pipeline.intake.quotes import delimiters_outside
from pipeline.intake.totals import may_be_total

# Sheets and bytes that are read at once; a sheet with more bytes gains nothing from company.
AT_ONCE = 128
BYTES_AT_ONCE = 1 << 25
LARGEST = 1 << 22


@dataclass(frozen=True, slots=True)
class _Plain:
    """A sheet that begins with its headings, its quotation marks sound: `rows` lines of data.

    `known`: a reading before found nothing to be looked at more closely.
    """

    place: int
    text: Text
    header: Header
    delimiter: str
    body: bytes
    rows: int
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
    groups: dict[tuple[str, ...], list[_Plain]] = {}
    for place, part in parts.items():
        rows = known.get(place)
        plain = _plain(place, part, limits) if rows is None else _again(place, part, limits, rows)
        if plain is not None:
            key = (plain.delimiter, *plain.header.headings)
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
    data = text.data[text.start :]
    begin = data.find(b"\n") + 1
    top = _header(data[:begin], limits)
    if top is None or (b"\r" in data and data.count(b"\r") != data.count(b"\r\n")):
        return None
    header, delimiter = top
    body = data[begin:]
    if not body.endswith(b"\n"):
        if not body or body.endswith(b"\r"):
            return None
        body += b"\n"
    rows = body.count(b"\n")
    # As many delimiters as even rows have; where some have more and some fewer, reading tells.
    if delimiters_outside(body, delimiter) != rows * (header.width - 1):
        return None
    return _Plain(place, text, header, delimiter, body, rows)


def _again(place: int, part: Part, limits: IntakeLimits, rows: int) -> _Plain | None:
    content = part.content
    begin = content.find(b"\n") + 1
    top = _header(content[:begin], limits)
    if top is None or content.startswith(codecs.BOM_UTF8):
        return None
    body = content[begin:]
    body = body if body.endswith(b"\n") else body + b"\n"
    return _Plain(place, Text(content, 0, "utf-8"), *top, body, rows, known=True)


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
    frame = fast_rows(b"".join(sheet.body for sheet in group), header, group[0].delimiter, 0)
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
        closer = np.flatnonzero(_needs_a_closer_look(frame, header, limits).to_numpy())
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


def _needs_a_closer_look(frame: pl.DataFrame, header: Header, limits: IntakeLimits) -> pl.Series:
    """Tell of each row whether it may be blank, the headings again, a total, or too long."""
    place, heading = first_heading(header)
    # A total without a word for it has an empty first cell, as a blank row has.
    signs = [
        blank(header.columns[0]),
        pl.col(place).str.contains(f"(?i){re.escape(heading)}"),
        *(pl.col(name).str.len_bytes() > limits.cell_letters for name in header.columns),
    ]
    # Mostly there is none: each column is asked by itself before rows are.
    shown = frame.select(sign.any().alias(str(at)) for at, sign in enumerate(signs)).row(0)
    seen = [sign for sign, any_shown in zip(signs, shown, strict=True) if any_shown]
    total = may_be_total(frame, header)
    return frame.select(pl.any_horizontal(total, *seen)).to_series()
