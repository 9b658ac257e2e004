"""Correction sheets that come back: which row of which sheet each of their rows is to fill.

A correction sheet holds rows that were sent back, under their sheet's own headings and four more.
The first of the four names the sheet with its number ("week-14.csv #277"), the second its row.
"""

import re
from dataclasses import dataclass
from functools import lru_cache

from pipeline.intake.found import Cells
from pipeline.intake.headings import heading_key
from pipeline.intake.words import word_table

_NUMBER = re.compile(r"#\s*([0-9]{1,9})\s*$")


@dataclass(frozen=True, slots=True)
class Claim:
    """What one row of a correction sheet says it fills; None where it does not say."""

    row_no: int
    of_sheet_no: int | None
    of_row_no: int | None


def correction_headings(language: str) -> tuple[str, str, str, str]:
    """Return the four headings in a language; KeyError where there are none in it."""
    sheet, row, wrong, todo = word_table("correction")[language]
    return sheet, row, wrong, todo


def sheet_label(name: str, sheet_no: int) -> str:
    """Return how a correction sheet names a sheet: its name, then the number that is its own."""
    return f"{name} #{sheet_no}"


def own_headings(cells: Cells) -> tuple[str, ...]:
    """Return a sheet's headings without the four of a correction sheet, where it has them."""
    return cells.headings if claims(cells) is None else cells.headings[:-4]


def claims(cells: Cells) -> list[Claim] | None:
    """Return what each row of a correction sheet fills; None where the sheet is no such one."""
    if not _corrects(cells.headings):
        return None
    sheet, row = (f"c{len(cells.headings) - 4}", f"c{len(cells.headings) - 3}")
    lines = cells.frame.select("row_no", sheet, row).iter_rows()
    return [_claim(row_no, named, line) for row_no, named, line in lines]


@lru_cache(maxsize=1024)
def _corrects(headings: tuple[str, ...]) -> bool:
    """Tell whether headings end in the four of a correction sheet, in some language."""
    last = [heading_key(heading) for heading in headings[-4:]]
    languages = word_table("correction")
    return any([*map(heading_key, correction_headings(one))] == last for one in languages)


def _claim(row_no: int, named: str | None, line: str | None) -> Claim:
    number = _NUMBER.search(named or "")
    row = re.fullmatch(r"\s*([0-9]{1,9})([.]0*)?\s*", line or "")
    return Claim(row_no, int(number[1]) if number else None, int(row[1]) if row else None)
