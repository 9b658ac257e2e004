"""From cells as text to typed columns, or a reason per cell.

The text is matched against a pattern first and cast after, since casts are lax: "1e2" and "12.7"
would pass as whole numbers otherwise.
"""

from dataclasses import dataclass

import polars as pl

from pipeline.intake.kinds import Column, Kind, choices

# type -> (digits in all, of these after the point); money takes the currency's decimals.
DECIMALS = {
    "kg": (14, 3),
    "percent": (5, 2),
    "metres": (8, 2),
    "hectares": (14, 4),
    "price": (14, 4),
    "days": (6, 1),
    "quantity": (14, 3),
    "degrees": (9, 6),
}
SQL_TYPES = {"date": "DATE", "time": "TIME", "integer": "BIGINT", "money": "BIGINT"}
LONGEST_TEXT = 500
LONGEST_SHAPE = 100_000
# By its outside only: what lies inside is looked at where areas are worked out.
SHAPE = (
    r"(?is)^(multi)?(polygon|point)\s*\(.*\)$"
    r'|^\{.*"coordinates"\s*:.*\}$'
)

# Why a cell was not read: what is wrong, and what to do. The column's own words are filled in.
REASONS = {
    "missing": ("is empty, and it is needed", "Fill it in."),
    "not-a-number": ("is no number", "Write digits, with a point before the decimals: 60.5."),
    "too-many-decimals": ("has more decimals than are kept", "Round it as the receipt does."),
    "not-a-whole-number": ("is no whole number", "Write digits only."),
    "not-a-date": ("is no date", "Write year-month-day: 2026-05-04."),
    "not-a-time": ("is no time of day", "Write hour:minute, from 00:00 to 23:59."),
    "not-a-shape": (
        "is no point or polygon",
        "Give a GeoJSON or WKT polygon whole, or leave the cell empty.",
    ),
    "not-a-choice": ("is none of the words known here", "Use one of the words of the list."),
    "too-long": ("is too long", f"Write at most {LONGEST_TEXT} letters."),
    "beyond-the-headings": (
        "stands to the right of the last heading",
        "Move the cells back under their headings, or give the column a heading.",
    ),
}


@dataclass(frozen=True, slots=True)
class TypedRows:
    """Typed rows of one kind (`sheet_no`, `row_no`, then its columns) and the cells not read.

    `unreadable`: kind, sheet_no, row_no, col, value, reason; one row a cell.
    """

    rows: pl.DataFrame
    unreadable: pl.DataFrame


def sql_type(column: Column) -> str:
    """Return the DuckDB type in which a column is stored."""
    if column.type in DECIMALS:
        return "DECIMAL({}, {})".format(*DECIMALS[column.type])
    return SQL_TYPES.get(column.type, "VARCHAR")


def type_rows(kind: Kind, text: pl.DataFrame, money_decimals: int) -> TypedRows:
    """Type the rows of one kind.

    `text`: sheet_no, row_no, one text column per column of the kind under its name, `beyond`.
    """
    trimmed = text.with_columns(
        pl.col([c.name for c in kind.columns] + ["beyond"]).str.strip_chars().replace("", None)
    )
    values: list[pl.Expr] = []
    reasons: list[pl.Expr] = []
    for column in kind.columns:
        value, readable, reason = _read(column, money_decimals)
        given = pl.col(column.name).is_not_null()
        why = pl.when(given & ~readable).then(reason)
        if column.required:
            why = why.when(~given).then(pl.lit("missing"))
        values.append(pl.when(readable).then(value).alias(column.stored))
        reasons.append(why.otherwise(None).cast(pl.String).alias(f"why {column.name}"))
    reasons.append(
        pl.when(pl.col("beyond").is_not_null())
        .then(pl.lit("beyond-the-headings"))
        .alias("why beyond")
    )
    typed = trimmed.select("sheet_no", "row_no", *values)
    judged = trimmed.with_columns(reasons)
    return TypedRows(typed, _unreadable(kind, judged))


def _unreadable(kind: Kind, judged: pl.DataFrame) -> pl.DataFrame:
    found: list[pl.DataFrame] = []
    for name in [*(column.name for column in kind.columns), "beyond"]:
        reason = pl.col(f"why {name}")
        found.append(
            judged.filter(reason.is_not_null()).select(
                pl.lit(kind.name).alias("kind"),
                "sheet_no",
                "row_no",
                pl.lit(name).alias("col"),
                pl.col(name).alias("value"),
                reason.alias("reason"),
            )
        )
    return pl.concat(found)


def _read(column: Column, money_decimals: int) -> tuple[pl.Expr, pl.Expr, pl.Expr]:
    """Return three expressions: the typed value, whether it can be read, the reason if not."""
    text = pl.col(column.name)
    if column.type in DECIMALS or column.type == "money":
        digits, places = DECIMALS.get(column.type, (18, money_decimals))
        number = text.str.contains(r"^[+-]?[0-9]+([.][0-9]+)?$")
        fits = rf"^[+-]?0*[0-9]{{1,{digits - places}}}([.][0-9]{{0,{places}}}0*)?$"
        value = text.cast(pl.Decimal(digits, places), strict=False)
        if column.type == "money":
            value = (value * 10**places).cast(pl.Int64)
        reason = pl.when(number).then(pl.lit("too-many-decimals")).otherwise(pl.lit("not-a-number"))
        return value, number & text.str.contains(fits), reason
    if column.type == "integer":
        readable = text.str.contains(r"^[+-]?[0-9]{1,15}([.]0*)?$")
        value = text.str.extract(r"^([+-]?[0-9]+)").cast(pl.Int64, strict=False)
        return value, readable, pl.lit("not-a-whole-number")
    if column.type == "date":
        shape = text.str.contains(r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$")
        value = text.str.to_date("%Y-%m-%d", strict=False)
        return value, shape & value.is_not_null(), pl.lit("not-a-date")
    if column.type == "time":
        shape = text.str.contains(r"^[0-9]{1,2}:[0-9]{2}(:00)?$")
        minutes = text.str.extract(r"^([0-9]+:[0-9]+)").str.zfill(5)
        value = minutes.str.to_time("%H:%M", strict=False)
        return value, shape & value.is_not_null(), pl.lit("not-a-time")
    if column.type == "geometry":
        short = text.str.len_chars() <= LONGEST_SHAPE
        return text, short & text.str.contains(SHAPE), pl.lit("not-a-shape")
    if column.type == "choice":
        spellings = choices(column.choices)
        normal = text.str.to_lowercase().str.replace_all(r"[\s_-]+", " ")
        value = normal.replace_strict(spellings, default=None, return_dtype=pl.String)
        return value, value.is_not_null(), pl.lit("not-a-choice")
    short = text.str.len_chars() <= LONGEST_TEXT
    # Codes are compared, so their letters are stored large; the sheet keeps them as typed.
    value = text.str.to_uppercase() if column.type == "code" else text
    return value, short, pl.lit("too-long")
