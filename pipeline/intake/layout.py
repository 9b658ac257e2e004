"""What the rows of a sheet are: title lines, headings, data, repeated headings, blanks."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import polars as pl

from pipeline.intake.found import Note, NotRead
from pipeline.intake.headings import INVISIBLE, count_known, heading_key
from pipeline.intake.limits import IntakeLimits, over


@dataclass(frozen=True, slots=True)
class Header:
    """Where the headings stand: their row, their cells as typed, and the lines above them.

    `width`: cells of the header's row; those behind the last heading have no name of their own.
    """

    row_no: int
    headings: tuple[str, ...]
    width: int
    titles: tuple[str, ...]

    @property
    def columns(self) -> list[str]:
        """Names of the columns that stand under a heading."""
        return [f"c{index}" for index in range(len(self.headings))]


def find_header(lines: Sequence[Sequence[str]], limits: IntakeLimits) -> Header:
    """Return the header among the first lines: the line with the most known headings.

    Where no line has any, the first line with the most cells. NotRead where there are too many.
    """
    best = -1
    score = (0, 0)
    for index, cells in enumerate(lines[: limits.header_within]):
        filled = sum(bool(cell.strip()) for cell in cells)
        if filled and (found := (count_known(cells), 0)) > score:
            best, score = index, found
            if found[0] == filled and filled > 3:
                break
    if best < 0:
        # No heading is known: the first line that is no title, so as wide as any.
        widths = [sum(bool(c.strip()) for c in cells) for cells in lines[: limits.header_within]]
        best = widths.index(max(widths)) if widths else 0
    cells = list(lines[best]) if lines else []
    width = len(cells)
    while cells and not cells[-1].strip():
        cells.pop()
    if len(cells) > limits.columns:
        raise over("columns", limits, len(cells))
    titles = tuple(
        " | ".join(cell.strip() for cell in line if cell.strip()) for line in lines[:best]
    )
    return Header(best + 1, tuple(cells), width, tuple(title for title in titles if title))


def tidy(
    raw: pl.DataFrame, header: Header, limits: IntakeLimits
) -> tuple[pl.DataFrame, list[Note]]:
    """Bring the rows below the header into shape: one frame with `row_no`, the columns, `beyond`.

    `raw`: `row_no`, `c0`, … up to the header's width, perhaps `beyond`. Blank rows and repeated
    headers are left out; both readers and workbooks go through here, so they give the same.
    """
    columns = header.columns
    extra = [
        f"c{index}" for index in range(len(columns), header.width) if f"c{index}" in raw.columns
    ]
    beyond = [*extra, *(["beyond"] if "beyond" in raw.columns else [])]
    frame = raw.select(pl.col("row_no").cast(pl.Int32), *columns, _joined(beyond).alias("beyond"))
    text = [*columns, "beyond"]
    place, heading = first_heading(header)
    # One look over all cells tells what there is to do: mostly nothing.
    some_blank, repeated, longest = frame.select(
        blank(columns[0]).any().alias("blank"),
        (pl.col(place).str.len_bytes() >= len(heading.encode())).any().alias("repeated"),
        pl.max_horizontal(pl.col(text).str.len_bytes().max()).alias("longest"),
    ).row(0)
    notes: list[Note] = []
    if some_blank:
        frame = _without_blanks(frame, text)
    if repeated:
        frame, notes = _without_repeats(frame, header)
    if longest and longest > limits.cell_letters:
        frame, long = _cut(frame, text, header, limits)
        notes += long
    return frame, notes


def _joined(columns: list[str]) -> pl.Expr:
    """Return what stands beyond the headings as one text, null where nothing does."""
    if not columns:
        return pl.lit(None, pl.String)
    filled = [pl.when(pl.col(c).str.strip_chars() != "").then(pl.col(c)) for c in columns]
    joined = pl.concat_str(filled, separator=" | ", ignore_nulls=True)
    return pl.when(joined != "").then(joined)


def blank(column: str) -> pl.Expr:
    """Return whether a cell holds no text."""
    return pl.col(column).is_null() | (pl.col(column).str.strip_chars() == "")


def _without_blanks(frame: pl.DataFrame, text: list[str]) -> pl.DataFrame:
    """Leave out rows without any text; only rows whose first cell is blank are looked at whole."""
    some = frame.filter(blank(text[0]))
    gone = some.filter(pl.all_horizontal(blank(c) for c in text))["row_no"]
    return frame.filter(~pl.col("row_no").is_in(gone.implode())) if gone.len() else frame


def first_heading(header: Header) -> tuple[str, str]:
    """Return the first column with a heading, and that heading without what cannot be seen."""
    place = next(i for i, heading in enumerate(header.headings) if heading.strip())
    return f"c{place}", INVISIBLE.sub("", header.headings[place]).strip()


def _without_repeats(frame: pl.DataFrame, header: Header) -> tuple[pl.DataFrame, list[Note]]:
    """Leave out rows that are the headings once more, and note each."""
    place, heading = first_heading(header)
    alike = frame.filter(pl.col(place).str.len_bytes() >= len(heading.encode())).filter(
        pl.col(place).str.contains(f"(?i){re.escape(heading)}")
    )
    wanted = [heading_key(heading) for heading in header.headings]
    repeats = [
        row[0]
        for row in alike.select("row_no", *header.columns).iter_rows()
        if [heading_key(cell or "") for cell in row[1:]] == wanted
    ]
    notes = [Note("repeated-header", (str(row_no),), row_no) for row_no in repeats]
    return (frame.filter(~pl.col("row_no").is_in(repeats)) if repeats else frame), notes


def _cut(
    frame: pl.DataFrame, text: list[str], header: Header, limits: IntakeLimits
) -> tuple[pl.DataFrame, list[Note]]:
    """Cut cells that are longer than the limit, and note each; typing sends such a row back."""
    limit = limits.cell_letters
    notes: list[Note] = []
    for column, longest in frame.select(pl.col(text).str.len_bytes().max()).to_dicts()[0].items():
        if not longest or longest <= limit:
            continue
        long = pl.col(column).str.len_chars() > limit
        place = int(column[1:]) if column != "beyond" else -1
        code = "cell-too-long" if place >= 0 else "cell-too-long-beyond"
        name = header.headings[place] if place >= 0 else ""
        for row_no, letters in (
            frame.filter(long).select("row_no", pl.col(column).str.len_chars()).iter_rows()
        ):
            notes.append(Note(code, (str(row_no), name, str(letters), str(limit)), row_no))
        cut = pl.concat_str(pl.col(column).str.slice(0, limit), pl.lit("…"))
        frame = frame.with_columns(pl.when(long).then(cut).otherwise(pl.col(column)).alias(column))
    return frame, notes


def nameless(frame: pl.DataFrame, header: Header) -> list[Note]:
    """Note cells that stand in a column without a heading: nothing can be done with them."""
    notes: list[Note] = []
    for place, heading in enumerate(header.headings):
        if heading.strip():
            continue
        filled = frame.filter(~blank(f"c{place}"))
        if filled.height:
            row_no = filled["row_no"][0]
            details = (str(place + 1), str(filled.height), str(row_no))
            notes.append(Note("no-heading", details, row_no))
    return notes


def must_have_headings(header: Header) -> None:
    """Refuse a sheet without any heading."""
    if not any(heading.strip() for heading in header.headings):
        raise NotRead("empty-sheet")
