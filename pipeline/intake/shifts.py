"""Tells where the cells of a sheet slip out from under their headings part of the way down."""

import polars as pl

from pipeline.intake.found import Cells, Note
from pipeline.intake.kinds import Column, Kind
from pipeline.intake.recognise import DATE, looks_like, match_headings

# Columns that must all speak for a slip, and rows that must show it one after the other.
COLUMNS = 2
ROWS = 2
# Dates and words of a list cannot be taken for anything else; a number may stand anywhere.
TELLING = ("date", "choice")


def shifted(kind: Kind, cells: Cells) -> tuple[Note, ...]:
    """Note the first run of rows whose cells fit the headings one place to their left or right.

    Such rows go back for what stands in them; the note says why so many do.
    """
    places = match_headings(kind, cells.headings)
    telling = [c for c in kind.columns if c.name in places and c.type in TELLING]
    width = len(cells.headings)
    frame = cells.frame
    for step, side in ((1, "right"), (-1, "left")):
        usable = [c for c in telling if 0 <= places[c.name] + step < width]
        if len(usable) < COLUMNS or not frame.height:
            continue
        slipped = _slipped(frame, usable, places, step)
        run = _run(slipped, frame["row_no"].to_list() if slipped else [])
        if run:
            first, last = run
            return (
                Note(
                    "shifted",
                    first,
                    f"From row {first} to row {last} the cells stand one column too far to the "
                    f"{side}. Move them back under their headings and send the sheet again.",
                ),
            )
    return ()


def _slipped(
    frame: pl.DataFrame, usable: list[Column], places: dict[str, int], step: int
) -> list[int]:
    """Return the rows where every telling cell fits one place further, and none in its own."""
    # Dates first: in a sound sheet they leave no row to look at.
    for column in sorted(usable, key=lambda one: one.type != "date"):
        place = places[column.name]
        if frame[f"c{place}"].str.contains(DATE).fill_null(False).all() and column.type == "date":
            return []
        for at, fits in ((place, False), (place + step, True)):
            if frame.height:
                frame = frame.filter(looks_like(column, _text(frame, at)) == fits)
    return frame["row_no"].to_list()


def _text(frame: pl.DataFrame, place: int) -> pl.Series:
    return frame[f"c{place}"].fill_null("").str.strip_chars()


def _run(slipped: list[int], rows: list[int]) -> tuple[int, int] | None:
    """Return the first and last row of the first run of slipped rows that is long enough."""
    at = {row_no: place for place, row_no in enumerate(rows)}
    start = 0
    for end in range(1, len(slipped) + 1):
        if end == len(slipped) or at[slipped[end]] != at[slipped[end - 1]] + 1:
            if end - start >= ROWS:
                return slipped[start], slipped[end - 1]
            start = end
    return None
