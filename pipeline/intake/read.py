"""From the bytes of a sheet to its cells as text, each row with the number a spreadsheet shows.

Two readers give the same rows: a fast one for plain lines and a careful one for the rest.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

import polars as pl

from pipeline.intake.containers import Part, open_parts
from pipeline.intake.delimited import Delimited, open_delimited
from pipeline.intake.encodings import to_utf8
from pipeline.intake.found import Cells, Doubtful, Note, NotRead
from pipeline.intake.headings import only_adds
from pipeline.intake.layout import Header, must_have_headings, nameless, tidy
from pipeline.intake.limits import DEFAULT, IntakeLimits
from pipeline.intake.totals import Total, check_totals, set_totals_aside
from pipeline.intake.workbooks import worksheet_rows

__all__ = ["Cells", "Doubtful", "NotRead", "Note", "Part", "cells_of", "open_parts", "part_cells"]

# A sheet with more bytes than this is read in runs of rows, and never held as a whole.
LARGE = 1 << 28
Raw = Callable[[], Iterable[pl.DataFrame]]


def read_cells(content: bytes, part: str = "", limits: IntakeLimits = DEFAULT) -> Cells:
    """Read one sheet of a file: the part called `part`, or the first one."""
    parts = open_parts(content, limits)
    return part_cells(next((p for p in parts if p.part == part), parts[0]), limits)


def part_cells(part: Part, limits: IntakeLimits = DEFAULT, *, careful_only: bool = False) -> Cells:
    """Read a sheet as a whole; NotRead where it has no cells."""
    runs = list(cells_of(part, limits, careful_only=careful_only))
    if len(runs) == 1:
        return runs[0]
    frame = pl.concat([run.frame for run in runs])
    return replace(runs[-1], frame=frame, notes=_of_all(runs))


def cells_of(
    part: Part, limits: IntakeLimits = DEFAULT, *, careful_only: bool = False
) -> Iterator[Cells]:
    """Yield a sheet in runs of rows, at least one; a small sheet is one run.

    All runs share headings and header row. What is noticed about the sheet as a whole, such as
    its totals, comes with the last one.
    """
    if part.problem is not None:
        raise part.problem
    if part.worksheet:
        header, frame = worksheet_rows(part.content, part.worksheet, limits)
        found = Cells(header.headings, header.row_no, frame, "workbook", titles=header.titles)
        hidden = [Note("hidden-worksheet", (name,)) for name in part.hidden]
        yield from _runs(replace(found, notes=tuple(hidden)), header, lambda: [frame], limits)
        return
    text = to_utf8(part.content)
    source = open_delimited(text, limits, careful_only=careful_only)
    header = source.header
    found = Cells(
        header.headings,
        header.row_no,
        pl.DataFrame(),
        "fast",
        encoding=text.encoding,
        notes=text.notes,
        titles=header.titles,
    )
    if len(part.content) > LARGE:
        yield from _runs(found, header, source.rows, limits, source)
    else:
        whole = [*source.rows()] or [_no_rows(header)]
        one = pl.concat(whole, how="diagonal") if len(whole) > 1 else whole[0]
        yield from _runs(found, header, lambda: [one], limits, source)


def _no_rows(header: Header) -> pl.DataFrame:
    names = {f"c{index}": pl.String for index in range(header.width)}
    return pl.DataFrame(schema={"row_no": pl.UInt32, **names})


def _runs(
    found: Cells,
    header: Header,
    raw: Raw,
    limits: IntakeLimits,
    source: Delimited | None = None,
) -> Iterator[Cells]:
    """Tidy the rows of a sheet run by run; the last run brings the notes on the whole."""
    must_have_headings(header)
    found = replace(found, only_adds=only_adds(header.titles))
    totals: list[Total] = []
    notes: list[Note] = []
    waiting: pl.DataFrame | None = None
    height = 0
    for rough in raw():
        if waiting is not None:
            yield replace(found, frame=waiting, notes=())
        frame, noticed = tidy(rough, header, limits)
        notes += noticed
        frame, some = set_totals_aside(frame, header, last=False)
        totals += some
        height += frame.height
        waiting = frame
    last = tidy(_no_rows(header), header, limits)[0] if waiting is None else waiting
    _, at_the_end = set_totals_aside(last, header, last=True)
    broken = tuple(source.notes) if source else ()
    reader = source.reader if source else found.reader

    def frames() -> Iterable[pl.DataFrame]:
        if source is None or len(source.text.data) <= LARGE:
            return [last]
        return (set_totals_aside(tidy(r, header, limits)[0], header, last=False)[0] for r in raw())

    told, aside = check_totals([*totals, *at_the_end], header, frames)
    last = last.filter(~pl.col("row_no").is_in(aside)) if at_the_end and aside else last
    if not height:
        notes.append(Note("no-rows", (str(header.row_no),), header.row_no))
    ordered = sorted([*broken, *notes, *told, *nameless(last, header)], key=lambda n: n.row_no)
    yield replace(found, frame=last, reader=reader, notes=(*found.notes, *ordered))


def _of_all(runs: list[Cells]) -> tuple[Note, ...]:
    return tuple(note for run in runs for note in run.notes)
