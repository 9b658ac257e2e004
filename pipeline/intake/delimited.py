"""Delimited text into rows of text: a fast reader for plain lines and a careful one for the rest.

Both work in runs of whole lines, so that a large file is never held as rows at once.
"""

import csv
import io
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import islice

import polars as pl

from pipeline.intake.encodings import Text
from pipeline.intake.found import BROKEN, Note
from pipeline.intake.headings import count_known
from pipeline.intake.layout import Header, find_header
from pipeline.intake.limits import IntakeLimits
from pipeline.intake.quotes import delimiters_outside

DELIMITERS = (",", ";", "\t", "|", "^", "~", ":")
HEAD_BYTES = 1 << 18
RUN_BYTES = 1 << 25
# Rows of text that exist at once: few enough to stay in the processor's own memory.
BLOCK_LINES = 5_000


@dataclass(slots=True)
class Delimited:
    """A delimited text with its header found; `rows()` reads what stands below it.

    `careful_only`: use the careful reader throughout. `reader` and `notes` tell, after reading,
    which reader was needed and what was wrong with quotation marks.
    """

    text: Text
    header: Header
    delimiter: str
    body: int
    careful_only: bool = False
    reader: str = "fast"
    notes: list[Note] = field(default_factory=list[Note])

    def rows(self) -> Iterator[pl.DataFrame]:
        """Yield the rows below the header in runs: `row_no`, `c0`, …, and `beyond` where needed."""
        self.notes.clear()
        self.reader = "fast"
        data, at, row_no = self.text.data, self.body, self.header.row_no + 1
        while at < len(data):
            end = data.rfind(b"\n", at, at + RUN_BYTES) + 1
            if end <= at or at + RUN_BYTES >= len(data):
                end = len(data)
            run = data[at:end]
            plain = b'"' not in run or delimiters_outside(run, self.delimiter) is not None
            if self.careful_only or not plain:
                # A quoted line break may stand anywhere from here on: no safe place to cut.
                self.reader = "careful"
                yield from careful_rows(data[at:], self.header, self.delimiter, row_no, self.notes)
                return
            frame = None
            if run.count(b"\r") == run.count(b"\r\n"):
                frame = fast_rows([run], self.header, self.delimiter)
            if frame is not None:
                yield frame.with_row_index("row_no", offset=row_no)
                row_no += frame.height
            else:
                self.reader = "careful"
                for frame in careful_rows(run, self.header, self.delimiter, row_no, self.notes):
                    # Blank characters alone are lines to one reader and rows to none.
                    if frame.height:
                        row_no = frame["row_no"][-1] + 1
                        yield frame
            at = end


def open_delimited(text: Text, limits: IntakeLimits, *, careful_only: bool = False) -> Delimited:
    """Find delimiter and header of a text; NotRead where it has too many columns."""
    head = text.data[text.start : text.start + HEAD_BYTES].decode("utf-8", "ignore")
    lines = _logical_lines(head, limits.header_within + 1)
    said = _said_delimiter(lines[0]) if lines else ""
    delimiter = said or _plain_delimiter(lines[0] if lines else "") or delimiter_of(lines)
    cells = [_split(line, delimiter) for line in lines]
    if said:
        cells[0] = []
    header = find_header(cells, limits)
    skipped = "".join(lines[: header.row_no])
    return Delimited(text, header, delimiter, text.start + len(skipped.encode()), careful_only)


def _logical_lines(head: str, most: int) -> list[str]:
    """Split the beginning of a text into its first rows; a quoted line break ends none."""
    lines: list[str] = []
    for line in io.StringIO(head, newline=""):
        # An even number of quotation marks: the row before this line is whole.
        if lines and lines[-1].count('"') % 2 and len(lines[-1]) < 4096:
            lines[-1] += line
        elif len(lines) < most:
            lines.append(line)
        else:
            break
    return lines


def _said_delimiter(line: str) -> str:
    """Return the delimiter of a first line such as `sep=;`, or nothing."""
    said = line.strip().strip('"')
    return said[4:] or "," if said.lower().startswith("sep=") and len(said) <= 5 else ""


def _split(line: str, delimiter: str) -> list[str]:
    bare = line.rstrip("\r\n")
    try:
        rows = csv.reader(io.StringIO(bare, newline=""), delimiter=delimiter, strict=True)
        return next(rows, list[str]())
    except csv.Error:
        return bare.split(delimiter)


@lru_cache(maxsize=256)
def _plain_delimiter(line: str) -> str:
    """Return the delimiter of a first line that is all known headings; else nothing."""
    for delimiter in DELIMITERS[:4]:
        cells = _split(line, delimiter)
        if len(cells) > 3 and count_known(cells) == len(cells):
            return delimiter
    return ""


def delimiter_of(lines: list[str]) -> str:
    """Return the delimiter by which a line has the most known headings, then the most even rows."""

    def fit(delimiter: str) -> tuple[int, int, int]:
        split = [_split(line, delimiter) for line in lines if line.strip()]
        known = max((count_known(cells) for cells in split), default=0)
        widths = [len(cells) for cells in split]
        usual = max(set(widths), key=lambda w: (widths.count(w), w)) if widths else 0
        # A sign of daily writing, such as the colon of "08:30", needs headings to speak for it.
        if delimiter not in DELIMITERS[:4] and known < 2:
            return 0, 0, 0
        return known, widths.count(usual) if usual > 1 else 0, usual

    return max(DELIMITERS, key=fit)


def fast_rows(
    runs: Sequence[bytes | memoryview], header: Header, delimiter: str, *, quoted: bool = True
) -> pl.DataFrame | None:
    """Read runs of whole lines whose quotation marks are sound, as `c0`, …, one below the other.

    Sound as `delimiters_outside` tells; `quoted`: there may be marks. None where a row is longer
    than the header, and for a delimiter that is more than one byte.
    """
    if len(delimiter.encode()) != 1:
        return None
    names = [f"c{index}" for index in range(header.width)]
    # A line of names makes every row after it as wide as the header.
    text = b"".join([delimiter.join(names).encode(), b"\n", *runs])
    quoted = quoted and b'"' in text
    try:
        frame = pl.read_csv(
            text,
            separator=delimiter,
            quote_char='"' if quoted else None,
            schema=dict.fromkeys(names, pl.String),
            missing_columns="insert",
        )
    except pl.exceptions.PolarsError:
        return None
    # Only two marks side by side may be a cell that is empty.
    empty = quoted and b'""' in text
    return frame.with_columns(pl.when(pl.all() != "").then(pl.all())) if empty else frame


class _Lines:
    """Hands out lines and keeps those of the row being read, so that it can be taken back."""

    def __init__(self, run: bytes) -> None:
        self.stream = io.TextIOWrapper(io.BytesIO(run), encoding="utf-8", newline="")
        self.back: list[str] = []
        self.row: list[str] = []

    def __iter__(self) -> "_Lines":
        return self

    def __next__(self) -> str:
        line = self.back.pop() if self.back else next(self.stream)
        self.row.append(line)
        return line

    def take(self, most: int) -> list[str]:
        """Hand out many lines at once."""
        if not self.back:
            return list(islice(self.stream, most))
        taken = self.back[-most:][::-1]
        del self.back[-most:]
        return taken


def careful_rows(
    run: bytes, header: Header, delimiter: str, row_no: int, notes: list[Note]
) -> Iterator[pl.DataFrame]:
    """Read any delimited lines. A row whose quotation marks do not close is taken as it stands.

    So is one that would close only in a later row. Such a row has its broken cell and its whole
    text in `beyond`, each behind `BROKEN`, so that it goes back, and the next line is a row.
    """
    lines = _Lines(run)
    while block := lines.take(BLOCK_LINES):
        beyond: dict[int, str] = {}
        rows: list[list[str]] = []
        with suppress(csv.Error):
            rows = list(csv.reader(block, delimiter=delimiter, strict=True))
        if len(rows) < len(block):
            # A row of several lines, one that goes on behind the block or is broken: row by row.
            lines.back += reversed(block)
            rows = _row_by_row(lines, header.width, delimiter, row_no, beyond, notes)
        if set(map(len, rows)) != {header.width}:
            rows = [_fit(cells, at, header.width, beyond) for at, cells in enumerate(rows)]
        if rows:
            yield _frame(rows, beyond, header.width, row_no)
            row_no += len(rows)


def _row_by_row(
    lines: _Lines,
    width: int,
    delimiter: str,
    row_no: int,
    beyond: dict[int, str],
    notes: list[Note],
) -> list[list[str]]:
    """Read a block's worth of rows; a broken one is split at its delimiters, marks and all."""
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    rows: list[list[str]] = []
    while len(rows) < BLOCK_LINES:
        lines.row.clear()
        try:
            cells = next(reader)
            _refuse_swallowed(lines.row, width, delimiter)
        except StopIteration:
            break
        except csv.Error:
            first, *rest = lines.row
            lines.back += reversed(rest)
            reader = csv.reader(lines, delimiter=delimiter, strict=True)
            bare = first.rstrip("\r\n")
            cells = bare.split(delimiter)
            opened = next((cell for cell in cells if '"' in cell), bare)
            beyond[len(rows)] = f"{BROKEN}{opened}{BROKEN}{bare}"
            notes.append(_broken(row_no + len(rows)))
        rows.append(cells)
    return rows


def _refuse_swallowed(lines: Sequence[str], width: int, delimiter: str) -> None:
    """Raise csv.Error where each line of a quoted row is a row: one mark took in those after it."""
    full = [line.count(delimiter) >= width - 1 > 0 for line in lines if line.strip()]
    if len(full) > 1 and all(full):
        raise csv.Error("a quotation mark closes in another row")


def _fit(cells: list[str], at: int, width: int, beyond: dict[int, str]) -> list[str]:
    """Bring a row to the header's width; what stands beyond it goes into one last cell."""
    if len(cells) > width and at not in beyond:
        more = [cell for cell in cells[width:] if cell.strip()]
        if more:
            beyond[at] = " | ".join(more)
    return cells[:width] + [""] * (width - len(cells))


def _broken(row_no: int) -> Note:
    return Note("broken-quotes", (str(row_no),), row_no)


def _frame(rows: list[list[str]], beyond: dict[int, str], width: int, row_no: int) -> pl.DataFrame:
    columns = list(zip(*rows, strict=True)) if width else []
    frame = pl.DataFrame(
        {f"c{place}": pl.Series(values, dtype=pl.String) for place, values in enumerate(columns)}
    ).with_columns(pl.when(pl.all() != "").then(pl.all()))
    if beyond:
        more = [beyond.get(at) for at in range(len(rows))]
        frame = frame.with_columns(pl.Series("beyond", more, dtype=pl.String))
    return frame.with_row_index("row_no", offset=row_no)
