"""Which cells are written the plain way: cast as they are, with no look at each of them."""

import polars as pl

from pipeline.intake.kinds import Column, Kind
from pipeline.intake.odd import LONGEST_TEXT
from pipeline.intake.stored import DECIMALS

# Types that hold words: any text fits them, and no other cell can change what it means.
WORDS = frozenset({"text", "phone", "account"})
# Words that stand as they are: nothing at their ends to take off, no mark of an error inside.
PLAIN_WORDS = r"^[\p{L}0-9+]([\p{L}0-9 .,'/()&+-]*[\p{L}0-9.)])?$"
JUDGED_ONE_BY_ONE = frozenset({"choice", "geometry", "time"})
# As many rows tell whether a column says the same few things over and over.
SAMPLE = 2_000
MANY = 10 * SAMPLE


def digits_of(column: Column, money_decimals: int) -> tuple[int, int] | None:
    """Return the digits that a number keeps, in all and after the point; None for other types."""
    if column.type == "money":
        return 18, money_decimals
    return (15, 0) if column.type == "integer" else DECIMALS.get(column.type)


def plain(column: Column, money_decimals: int, *, distinct: bool = False) -> pl.Expr:
    """Return whether a cell is written the plain way, so that no other cell can change its meaning.

    A number with three decimals is not: elsewhere it may be thousands. Null cells give null.
    `distinct`: only the cells that differ are looked at.
    """
    text = pl.col(column.name).unique() if distinct else pl.col(column.name)
    digits = digits_of(column, money_decimals)
    if digits is not None:
        before, places = digits[0] - digits[1], min(digits[1], 2)
        after = f"([.][0-9]{{1,{places}}})?" if places else ""
        return text.str.contains(f"^([+-]?[0-9]{{1,{before}}}{after})?$")
    if column.type == "date":
        return text.str.contains("^((19|20)[0-9]{2}-[0-9]{2}-[0-9]{2})?$")
    if column.type in WORDS:
        return text.str.contains(PLAIN_WORDS) & (text.str.len_bytes() <= LONGEST_TEXT)
    return text.str.contains("^[A-Z0-9][A-Z0-9/.-]{0,99}$")


def plain_columns(kind: Kind, text: pl.DataFrame, money_decimals: int) -> set[str]:
    """Return the columns in which every cell is written the plain way."""
    judged = [column for column in kind.columns if column.type not in JUDGED_ONE_BY_ONE]
    if not judged:
        return set()
    empty = text.null_count().select(pl.all() == text.height).row(0, named=True)
    # To find the cells that differ is three times as fast as to look at all, where they are few.
    few = text.head(SAMPLE).select(pl.all().n_unique() * 2 < SAMPLE).row(0, named=True)
    checks = text.select(
        plain(c, money_decimals, distinct=text.height > MANY and few[c.name]).all().alias(c.name)
        for c in judged
        if not empty[c.name]
    )
    found = checks.row(0, named=True) if checks.width else {}
    return {c.name for c in judged if found.get(c.name, True)}
