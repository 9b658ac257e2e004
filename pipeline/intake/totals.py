"""Totals rows: recognised, checked against the sum of their columns, never counted."""

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

import polars as pl

from pipeline.intake.found import Note
from pipeline.intake.headings import heading_key
from pipeline.intake.layout import Header

WORDS = frozenset(
    "total totals grand total sub total subtotal sum totaux somme sous total sous total général "
    "total general suma sumas soma somas subtotales totales totais jumla kuu ndogo".split()
)
# Words that may stand beside a word for the total, such as "Total kg" or "Total of the week".
BESIDE = frozenset(
    "kg usd of the for week day page général générale general du de la le des semaine jour dia "
    "semana da do ya wiki siku kuu ndogo bags sacs".split()
)
SPACES = " \u00a0\u2009\u202f"
UNIT = r"(?:kgs?|g|lbs?|ha|%|[A-Z]{3})?"
SIGN = r"[^\dA-Za-z\u00c0-\u024f]"
NUMBER = rf"^{SIGN}{{0,4}}[-+]?\d[\d.,'{SPACES}]*{UNIT}{SIGN}{{0,3}}$"
DATE_LIKE = r"^\d{1,4}[./-]\d{1,2}[./-]\d{1,4}$"
Frames = Callable[[], Iterable[pl.DataFrame]]


@dataclass(frozen=True, slots=True)
class Total:
    """A row that gives sums: its number, its numeric cells, whether a word says so."""

    row_no: int
    cells: dict[str, str]
    by_word: bool


def set_totals_aside(
    frame: pl.DataFrame, header: Header, *, last: bool
) -> tuple[pl.DataFrame, list[Total]]:
    """Take the rows that give totals out of a frame.

    A row with a word for a total counts as one where all its other filled cells are numbers. Where
    `last` holds, the last row may be one without a word; whether it is, only its sums can tell.
    """
    columns = header.columns
    looked = frame.filter(may_be_total(frame, header))
    if last:
        looked = pl.concat([looked, frame.tail(1)]).unique("row_no", maintain_order=True)
    found: list[Total] = []
    for row in looked.iter_rows(named=True):
        total = _total(row, columns)
        if total is not None and (total.by_word or (last and row["row_no"] == frame["row_no"][-1])):
            found.append(total)
    if not found:
        return frame, []
    aside = [total.row_no for total in found if total.by_word]
    return frame.filter(~pl.col("row_no").is_in(aside)), found


def may_be_total(frame: pl.DataFrame, header: Header) -> pl.Series:
    """Tell of each row whether it has few cells filled, and a word for a total in one of them."""
    columns = header.columns
    none = pl.Series([False]).new_from_index(0, frame.height)
    empty = [frame[column].null_count() for column in columns]
    if empty.count(0) > _most_filled(columns) or _all_dated(frame, columns, empty):
        return none
    filled = pl.sum_horizontal(pl.col(columns).is_not_null().cast(pl.UInt16))
    few = frame.select((filled <= _most_filled(columns)).alias("few"))["few"]
    if not few.any():
        return none
    text = frame.filter(few).select(pl.concat_str(columns, separator=" ", ignore_nulls=True))
    said = text.to_series()
    if said.str.contains(r"[^\x00-\x7f]").any():
        # As headings are compared: without accents and what cannot be seen.
        said = said.str.normalize("NFKD").str.replace_all(r"[\p{Mn}\p{Cf}]", "")
    words = sorted(word for word in WORDS if word.isascii())
    by_word = said.str.contains_any(words, ascii_case_insensitive=True)
    places = few.arg_true().filter(by_word)
    return none.scatter(places, True)


def _all_dated(frame: pl.DataFrame, columns: list[str], empty: Sequence[int]) -> bool:
    """Tell whether every row has a date in some column: no total has one among its cells."""
    for column, nulls in zip(columns, empty, strict=True):
        if frame.height and not nulls and re.match(DATE_LIKE, frame[column][0]):
            return bool(frame[column].str.contains(DATE_LIKE).all())
    return False


def _most_filled(columns: list[str]) -> int:
    return max(2, (len(columns) + 1) // 2)


_number = re.compile(NUMBER)
_date = re.compile(DATE_LIKE)


def _is_number(text: str) -> bool:
    return bool(_number.match(text)) and not _date.match(text)


def _total(row: dict[str, str | None], columns: list[str]) -> Total | None:
    """Return what a row totals, or None where it is a row like any other."""
    cells = {c: text for c in columns if (text := (row[c] or "").strip())}
    if sum(row[c] is not None for c in columns) > _most_filled(columns):
        return None
    words = {c for c, text in cells.items() if _is_word(text)}
    numbers = {c: text for c, text in cells.items() if c not in words and _is_number(text)}
    if len(words) > 2 or len(words) + len(numbers) != len(cells) or row["beyond"]:
        return None
    if words:
        return Total(int(row["row_no"] or 0), numbers, True)
    # Without a word, a sum leaves at least the first column empty and fills a few only.
    first = columns[0] not in cells and len(numbers) * 2 <= len(columns)
    return Total(int(row["row_no"] or 0), numbers, False) if first and numbers else None


def _is_word(text: str) -> bool:
    words = heading_key(text).split() if len(text) < 60 else []
    return bool(words) and words[0] in WORDS and all(w in WORDS | BESIDE for w in words)


def check_totals(
    totals: list[Total], header: Header, frames: Frames
) -> tuple[list[Note], list[int]]:
    """Check totals against their columns; return the notes and the rows that are no data.

    `frames`: gives all data rows, once for each call. A row without a word is a total only
    where every number in it is the sum above it.
    """
    if not totals:
        return [], []
    columns = sorted({column for total in totals for column in total.cells})
    points = {column: _decimal_mark(column, frames) for column in columns}
    notes: list[Note] = []
    aside: list[int] = []
    before = 0
    for total in totals:
        wrong: list[Note] = []
        for column, text in total.cells.items():
            said = _value(text, points[column])
            sums = {
                _sum(column, points[column], frames, since, total.row_no) for since in {0, before}
            }
            if said is None or said not in sums:
                heading = header.headings[int(column[1:])]
                whole = _sum(column, points[column], frames, 0, total.row_no)
                wrong.append(_mismatch(total.row_no, heading, text, said, whole))
        if not total.by_word and (wrong or not _any_row(frames, total.row_no)):
            continue
        aside.append(total.row_no)
        before = total.row_no
        code = "totals-row" if total.cells else "totals-empty"
        notes += wrong or [Note(code, (str(total.row_no),), total.row_no)]
    return notes, aside


def _mismatch(row_no: int, heading: str, text: str, said: Decimal | None, found: Decimal) -> Note:
    if said is None:
        return Note("totals-unreadable", (str(row_no), heading, text), row_no)
    off = (said - found).normalize()
    return Note("totals-differ", (str(row_no), heading, text, f"{found:f}", f"{off:+f}"), row_no)


def _any_row(frames: Frames, row_no: int) -> bool:
    # With one row above, any copy of a number would pass for a sum.
    return sum(frame.filter(pl.col("row_no") < row_no).height for frame in frames()) > 1


def _decimal_mark(column: str, frames: Frames) -> str:
    """Return the decimal mark of a column, by cells that leave no choice."""
    commas = points = 0
    for frame in frames():
        text = pl.col(column).str
        counted = frame.select(
            text.contains(r",\d{1,2}\D*$|,\d{4,}\D*$|\.\d{3},").sum().alias("commas"),
            text.contains(r"\.\d{1,2}\D*$|\.\d{4,}\D*$|,\d{3}\.").sum().alias("points"),
        ).row(0)
        commas, points = commas + counted[0], points + counted[1]
    return "," if commas > points else "."


def _plain(mark: str) -> tuple[str, str]:
    thousands = "." if mark == "," else ","
    return rf"[^\d\-{re.escape(mark)}]", thousands


def _value(text: str, mark: str) -> Decimal | None:
    plain = re.sub(_plain(mark)[0], "", text).replace(mark, ".")
    return Decimal(plain) if re.fullmatch(r"-?\d+(\.\d*)?", plain) else None


def _sum(column: str, mark: str, frames: Frames, since: int, until: int) -> Decimal:
    found = Decimal(0)
    for frame in frames():
        cells = frame.filter(
            (pl.col("row_no") > since) & (pl.col("row_no") < until) & pl.col(column).is_not_null()
        ).select(
            pl.col(column)
            .str.replace_all(_plain(mark)[0], "")
            .str.replace_all(mark, ".", literal=True)
            .cast(pl.Decimal(38, 6), strict=False)
        )
        found += Decimal(cells.to_series().sum() or 0)
    return found.normalize() if found else Decimal(0)
