"""What reading a sheet gives: its cells and what was noticed, or why it cannot be read."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pipeline.intake.told import note_sentence, refusal_sentence

if TYPE_CHECKING:
    # Settings name these refusals: what only reads settings loads no table library.
    import polars as pl

# Begins what stands in `beyond` of a row whose quotation marks are broken: the broken cell, the
# mark again, the whole line. No text holds it, since control characters are replaced before.
BROKEN = "\x1e"


def shortened(text: str, most: int) -> str:
    """Return a text as a sentence shows it, with a sign where more letters than `most` are cut."""
    return text if len(text) <= most else f"{text[:most]}…"


class NotRead(Exception):
    """A sheet's rows cannot be had; `code` says why, `str()` in a sentence of English.

    `details` fill the sentence of `words/refusals.toml`, in whichever language it is said.
    """

    def __init__(self, code: str, *details: object) -> None:
        self.code = code
        self.details = tuple(str(detail) for detail in details)
        super().__init__(code, *self.details)

    def __str__(self) -> str:
        """Return the sentence in English."""
        return refusal_sentence(self.code, self.details)


class Doubtful(NotRead):
    """A sheet is kept and nothing of it counted until somebody answers.

    `what`: "kind", "station", "week" or "heading"; `answers`: the likely ones, the likeliest first.
    """

    def __init__(self, what: str, code: str, *details: object, answers: tuple[str, ...]) -> None:
        super().__init__(code, *details)
        self.what = what
        self.answers = answers


@dataclass(frozen=True, slots=True)
class Note:
    """Something noticed while reading: a code, what fills its sentence, the row (0: the whole)."""

    code: str
    details: tuple[str, ...] = ()
    row_no: int = 0

    @property
    def sentence(self) -> str:
        """The note as a sentence of English."""
        return note_sentence(self.code, self.details)


@dataclass(frozen=True, slots=True)
class Cells:
    """The cells of one sheet, or of one run of its rows, as text.

    `frame`: `row_no` (Int32, as a spreadsheet shows it), one text column per heading named `c0`,
    `c1`, …, and `beyond`: what stands to the right of the last heading. Rows without any text,
    headers that are repeated and totals are left out and have not arrived. `titles`: the lines
    above the headings. `only_adds`: a title line says that the sheet only adds rows.
    """

    headings: tuple[str, ...]
    header_row: int
    frame: "pl.DataFrame"
    reader: str
    encoding: str = ""
    notes: tuple[Note, ...] = ()
    titles: tuple[str, ...] = ()
    only_adds: bool = False
