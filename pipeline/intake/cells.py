"""From cells as text to typed columns, or a reason per cell.

The text is matched against a pattern first and cast after, since casts are lax: "1e2" and "12.7"
would pass as whole numbers otherwise. A column in which every cell is plain is cast as it is; only
where one is not are its cells looked at more closely.
"""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import polars as pl

from pipeline.intake.characters import BLANK, ERROR, INVISIBLE, NOTHING, UNREAD
from pipeline.intake.kinds import Column, Kind, choices, normal_heading
from pipeline.intake.odd import LONGEST_TEXT, why_not
from pipeline.intake.plain import WORDS, digits_of, distinct_cells, plain_columns
from pipeline.intake.reasons import REASONS
from pipeline.intake.stored import DECIMALS

if TYPE_CHECKING:
    from pipeline.intake.settle import SheetForm

__all__ = ["REASONS", "TypedRows", "type_rows"]

LONGEST_SHAPE = 100_000
# By its outside only: what lies inside is looked at where areas are worked out.
SHAPE = (
    r"(?is)^(multi)?(polygon|point)\s*\(.*\)$"
    r'|^\{.*"coordinates"\s*:.*\}$'
)
# How a column of doubts is called that travels beside the text: see `canonical`.
DOUBT = "doubt {}"
# And one of the units that numbers were converted from.
CONVERTED = "converted {}"

_INSIDE = f"[{INVISIBLE}]"
_UNREADABLE = {
    "kind": pl.String,
    "sheet_no": pl.Int32,
    "row_no": pl.Int32,
    "col": pl.String,
    "value": pl.String,
    "reason": pl.String,
}
_CONVERTED = {
    "kind": pl.String,
    "sheet_no": pl.Int32,
    "row_no": pl.Int32,
    "col": pl.String,
    "unit": pl.String,
}


@dataclass(frozen=True, slots=True)
class TypedRows:
    """Typed rows of one kind (`sheet_no`, `row_no`, then its columns) and the cells not read.

    `unreadable`: kind, sheet_no, row_no, col, value, reason; one row a cell. `forms`: how each
    sheet was read as a whole, by sheet_no, where it was looked at more closely. `converted`: kind,
    sheet_no, row_no, col, unit of each number that was brought to its column's unit from another.
    """

    rows: pl.DataFrame
    unreadable: pl.DataFrame
    forms: "dict[int, SheetForm]" = field(default_factory=dict["int", "SheetForm"])
    converted: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=_CONVERTED))


def canonical_number(column: Column, money_decimals: int) -> str:
    """Return the pattern of a number that is written with a point and fits the column."""
    if column.type == "integer":
        return r"^[+-]?[0-9]{1,15}([.]0*)?$"
    digits, places = digits_of(column, money_decimals) or (14, 3)
    after = f"[0-9]{{1,{places}}}0*" if places else "0+"
    return rf"^[+-]?0*[0-9]{{1,{digits - places}}}([.]{after})?$"


def trimmed(name: str) -> pl.Expr:
    """Return a column without what stands invisibly at the ends of its cells; empty cells are
    null.
    """
    return pl.col(name).str.strip_chars(BLANK).replace("", None)


def type_rows(
    kind: Kind, text: pl.DataFrame, money_decimals: int, known_plain: set[str] | None = None
) -> TypedRows:
    """Type the rows of one kind.

    `text`: sheet_no, row_no, one text column per column of the kind under its name, `beyond`; and
    perhaps, as `doubt <name>`, reasons found before. Numbers have a decimal point, dates are
    year-month-day: `type_sheets` takes other forms too. `known_plain`: `plain_columns` of the text,
    where they are known already.
    """
    checked = plain_columns(kind, text, money_decimals) if known_plain is None else known_plain
    doubted = [c.name for c in kind.columns if DOUBT.format(c.name) in text.columns]
    values: list[pl.Expr] = []
    judged: list[Column] = []
    for column in kind.columns:
        if column.name in checked:
            values.append(_cast(column, pl.col(column.name), money_decimals))
        else:
            values.append(pl.lit(_values(column, text[column.name], money_decimals)))
            judged.append(column)
    rows = text.select(
        "sheet_no",
        "row_no",
        *(v.alias(c.stored) for v, c in zip(values, kind.columns, strict=True)),
    )
    found = [
        _unread(kind, column, text, rows[column.stored], money_decimals)
        for column in kind.columns
        if column in judged or column.type == "date" or column.required or column.name in doubted
    ]
    found.append(_beyond(kind, text))
    for name in doubted:
        stored = kind.column(name).stored
        keep = pl.when(text[DOUBT.format(name)].is_null()).then(pl.col(stored))
        rows = rows.with_columns(keep.alias(stored))
    return TypedRows(
        rows,
        pl.concat([f for f in found if f.height] or [pl.DataFrame(schema=_UNREADABLE)]),
        converted=_converted(kind, text),
    )


def _converted(kind: Kind, text: pl.DataFrame) -> pl.DataFrame:
    found = [
        text.select(
            pl.lit(kind.name).alias("kind"),
            "sheet_no",
            "row_no",
            pl.lit(column.name).alias("col"),
            pl.col(unit).alias("unit"),
        ).drop_nulls("unit")
        for column in kind.columns
        if (unit := CONVERTED.format(column.name)) in text.columns
    ]
    return pl.concat(found) if found else pl.DataFrame(schema=_CONVERTED)


def _cast(column: Column, text: pl.Expr, money_decimals: int) -> pl.Expr:
    """Return the value of a text that fits its column; null for an empty one."""
    if column.type == "money":
        value = text.cast(pl.Decimal(18, money_decimals), strict=False)
        return (value * 10**money_decimals).cast(pl.Int64)
    if column.type in DECIMALS:
        return text.cast(pl.Decimal(*DECIMALS[column.type]), strict=False)
    if column.type == "integer":
        return text.cast(pl.Int64, strict=False)
    if column.type == "date":
        return text.str.to_date("%Y-%m-%d", strict=False)
    if column.type == "time":
        minutes = text.str.extract("^([0-9]+:[0-9]+)").str.zfill(5)
        return minutes.str.to_time("%H:%M", strict=False)
    return text


def _values(column: Column, text: pl.Series, money_decimals: int) -> pl.Series:
    """Return the values of any texts: null where one is empty or cannot be read.

    A text that recurs is judged once.
    """
    choice = column.type == "choice"
    distinct = text.unique() if choice else distinct_cells(text)
    values = (
        _stored_words(column, distinct)
        if choice
        else distinct.to_frame().select(_value(column, money_decimals)).to_series()
    )
    if distinct is text:
        return values
    if values.dtype != pl.String:
        return text.replace_strict(distinct, values)
    changed = distinct.ne_missing(values)
    return text.replace(distinct.filter(changed), values.filter(changed)) if changed.any() else text


def _stored_words(column: Column, cells: pl.Series) -> pl.Series:
    """Return the word that each accepted spelling of a choice is stored as."""
    spellings = choices(column.choices)
    words = (spellings.get(normal_heading((cell or "").strip(BLANK))) for cell in cells)
    return pl.Series(column.name, words, pl.String)


def _value(column: Column, money_decimals: int) -> pl.Expr:
    """Return the value of any text of a column of another type than choice."""
    cell = trimmed(column.name)
    if column.type == "geometry":
        fits = (cell.str.len_chars() <= LONGEST_SHAPE) & cell.str.contains(SHAPE)
        return pl.when(fits).then(cell)
    if column.type == "time":
        shape = cell.str.contains("^[0-9]{1,2}:[0-9]{2}(:00)?$")
        return pl.when(shape).then(_cast(column, cell, money_decimals))
    if column.type == "code" or column.type in WORDS:
        whole = ~cell.str.contains(UNREAD, literal=True) & ~cell.str.contains(ERROR)
        kept = pl.when((cell.str.len_chars() <= LONGEST_TEXT) & whole).then(cell)
        if column.type in WORDS:
            return kept
        # Codes are compared, so their letters are stored large; the sheet keeps them as typed.
        fits = ~cell.str.contains(_INSIDE) & ~cell.str.to_lowercase().is_in(list(NOTHING))
        return pl.when(fits).then(kept.str.to_uppercase())
    if column.type == "date":
        shape = cell.str.contains("^(19|20)[0-9]{2}-[0-9]{2}-[0-9]{2}$")
        return pl.when(shape).then(_cast(column, cell, money_decimals))
    fits = cell.str.contains(canonical_number(column, money_decimals))
    number = cell.str.extract("^([+-]?[0-9]+)") if column.type == "integer" else cell
    return pl.when(fits).then(_cast(column, number, money_decimals))


def _unread(
    kind: Kind, column: Column, text: pl.DataFrame, value: pl.Series, money_decimals: int
) -> pl.DataFrame:
    """Return the cells of a column that hold no value, or none where one is needed."""
    doubt = DOUBT.format(column.name)
    has_doubt = doubt in text.columns
    without = 0 if column.required else text[column.name].null_count()
    if value.null_count() == without and not has_doubt:
        return pl.DataFrame(schema=_UNREADABLE)
    looked = text.select(
        pl.lit(kind.name).alias("kind"),
        "sheet_no",
        "row_no",
        pl.lit(column.name).alias("col"),
        pl.col(column.name).alias("value"),
        (pl.col(doubt) if has_doubt else pl.lit(None, pl.String)).alias("reason"),
    ).filter(value.is_null() | (pl.col("reason").is_not_null()))
    looked = looked.with_columns(trimmed("value"))
    if not column.required:
        looked = looked.filter(pl.col("value").is_not_null())
    places = (digits_of(column, money_decimals) or (0, 0))[1]
    odd = looked.filter(pl.col("reason").is_null())["value"].unique().drop_nulls()
    why = {cell: why_not(column, cell, places) for cell in odd}
    found = (
        pl.col("value").replace_strict(why, default=None, return_dtype=pl.String)
        if why
        else pl.lit(None, pl.String)
    )
    given = pl.when(pl.col("value").is_null()).then(pl.lit("missing")).otherwise(found)
    return looked.with_columns(pl.coalesce("reason", given).alias("reason"))


def _beyond(kind: Kind, text: pl.DataFrame) -> pl.DataFrame:
    if text["beyond"].null_count() == text.height:
        return pl.DataFrame(schema=_UNREADABLE)
    return text.select(
        pl.lit(kind.name).alias("kind"),
        "sheet_no",
        "row_no",
        pl.lit("beyond").alias("col"),
        trimmed("beyond").alias("value"),
        pl.lit("beyond-the-headings").alias("reason"),
    ).filter(pl.col("value").is_not_null())
