"""Which cells are written the plain way: cast as they are, with no look at each of them."""

import polars as pl

from pipeline.intake.characters import NOTHING
from pipeline.intake.kinds import Column, Kind
from pipeline.intake.odd import LONGEST_TEXT
from pipeline.intake.stored import DECIMALS

# Types that hold words: any text fits them, and no other cell can change what it means.
WORDS = frozenset({"text", "phone", "account"})
# Words that stand as they are: nothing at their ends to take off, no mark of an error inside.
PLAIN_WORDS = r"^[\p{L}0-9+]([\p{L}0-9 .,'/()&+-]*[\p{L}0-9.)])?$"
JUDGED_ONE_BY_ONE = frozenset({"choice", "geometry", "time"})
# What stands for nothing could be a code by its letters.
NO_CODES = [mark.upper() for mark in sorted(NOTHING)]
# As many rows tell whether a column says the same few things over and over.
SAMPLE = 2_000
MANY = 10 * SAMPLE


def digits_of(column: Column, money_decimals: int) -> tuple[int, int] | None:
    """Return the digits that a number keeps, in all and after the point; None for other types."""
    if column.type == "money":
        return 18, money_decimals
    return (15, 0) if column.type == "integer" else DECIMALS.get(column.type)


def plain(column: Column, money_decimals: int) -> pl.Expr:
    """Return whether a cell is written the plain way, so that no other cell can change its meaning.

    A number with three decimals is not: elsewhere it may be thousands. Null cells give null.
    """
    return pl.col(column.name).str.contains(_pattern(column, money_decimals))


def _pattern(column: Column, money_decimals: int) -> str:
    digits = digits_of(column, money_decimals)
    if digits is not None:
        before, places = digits[0] - digits[1], min(digits[1], 2)
        after = f"([.][0-9]{{1,{places}}})?" if places else ""
        return f"^([+-]?[0-9]{{1,{before}}}{after})?$"
    if column.type == "date":
        return "^((19|20)[0-9]{2}-[0-9]{2}-[0-9]{2})?$"
    return PLAIN_WORDS if column.type in WORDS else "^[A-Z0-9][A-Z0-9/.-]{0,99}$"


def plain_columns(kind: Kind, text: pl.DataFrame, money_decimals: int) -> set[str]:
    """Return the columns in which every cell is written the plain way, and those without a cell."""
    found: set[str] = set()
    for column in kind.columns:
        cells = text[column.name]
        if cells.null_count() == cells.len() or (
            column.type not in JUDGED_ONE_BY_ONE
            and _all_plain(column, distinct_cells(cells), money_decimals)
        ):
            found.add(column.name)
    return found


def _all_plain(column: Column, cells: pl.Series, money_decimals: int) -> bool:
    if not cells.str.contains(_pattern(column, money_decimals)).all():
        return False
    if column.type in WORDS:
        return not (cells.str.len_bytes() > LONGEST_TEXT).any()
    return column.type != "code" or not cells.is_in(NO_CODES).any()


def distinct_cells(cells: pl.Series) -> pl.Series:
    """Return the cells that differ, where a column says the same few things over and over; else
    all: to find the few that differ is three times as fast as to look at each.
    """
    recur = cells.len() > MANY and cells.head(SAMPLE).n_unique() * 2 < SAMPLE
    return cells.unique() if recur else cells
