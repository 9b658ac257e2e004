"""Brings sheets to one way of writing: decimal points, year-month-day, the stored units.

Each distinct text is read once, under the form of the sheets that hold it. What the form leaves
open becomes a doubt beside the cell, and the cell stays as it was typed.
"""

import re
from collections.abc import Callable, Mapping
from typing import NamedTuple

import polars as pl

from pipeline.intake.cells import CONVERTED, DOUBT, canonical_number
from pipeline.intake.characters import fold, is_error, is_nothing
from pipeline.intake.dates import read_date
from pipeline.intake.kinds import Column, Kind, normal_heading
from pipeline.intake.measures import measure_name, weighed
from pipeline.intake.numbers import COMMA, POINT, readings, take_apart
from pipeline.intake.odd import NUMBERS
from pipeline.intake.plain import digits_of
from pipeline.intake.reasons import reason
from pipeline.intake.settle import SheetForm
from pipeline.intake.units import (
    HINTS,
    convert,
    currency_fits,
    is_doubtful,
    is_own_unit,
    measure_names,
    measured,
    quantity_of,
    spellings,
    worth_in,
)
from pipeline.settings import Settings


class Read(NamedTuple):
    """One distinct cell as read: its canonical text, or a doubt, or an amount of a local
    measure; and the unit that it was converted from.
    """

    canon: str | None = None
    doubt: str | None = None
    amount: str | None = None
    measure: str | None = None
    converted: str | None = None


AS_TYPED = Read()
# Between a price and what it is for: "2.15/kg", "2.15 per kg".
PER = re.compile(r"\s*(?:/|\b(?:per|par|por|kwa)\b)\s*", re.I)


def canonical(
    kind: Kind, text: pl.DataFrame, forms: Mapping[int, SheetForm], settings: Settings
) -> pl.DataFrame:
    """Return the text in canonical form, with a column `doubt <name>` where a column has doubts.

    And with `converted <name>`, the unit that a number was converted from, where there is one.
    `text`: trimmed cells; `forms`: by sheet_no. Rows keep their order.
    """
    if settings.sheets.empty_marks:
        text = _without_empty_marks(kind, text, settings)
    # Dates come first: what a local measure weighs depends on the row's day.
    for column in sorted(kind.columns, key=lambda column: column.type != "date"):
        if column.type == "date":
            text = _dates(column, text, forms, settings)
        elif column.type in NUMBERS:
            text = _numbers(kind, column, text, forms, settings)
    return text


def _without_empty_marks(kind: Kind, text: pl.DataFrame, settings: Settings) -> pl.DataFrame:
    """Empty the cells that book.toml declares to be empty, in columns that may be."""
    optional = [c.name for c in kind.columns if not c.required and c.type not in ("text", "code")]
    return text.with_columns(
        pl.when(~pl.col(optional).is_in(list(settings.sheets.empty_marks))).then(pl.col(optional))
    )


def _look_up(
    name: str,
    text: pl.DataFrame,
    keys: Mapping[int, str],
    needed: pl.Expr,
    read: Callable[[str, str], Read],
) -> pl.DataFrame:
    """Return, row by row, what `read(key of the sheet, cell)` says about the cells that need it."""
    looked = text.select(
        pl.col("sheet_no").replace_strict(dict(keys), return_dtype=pl.String).alias("key"),
        pl.when(needed).then(pl.col(name)).alias("cell"),
    )
    distinct = looked.unique().drop_nulls()
    answers = [read(key, cell) for key, cell in distinct.iter_rows()]
    told = pl.DataFrame(answers, schema=dict.fromkeys(Read._fields, pl.String), orient="row")
    return looked.join(
        distinct.hstack(told), on=["key", "cell"], how="left", maintain_order="left"
    ).select(Read._fields)


def _settled(name: str, text: pl.DataFrame, told: pl.DataFrame) -> pl.DataFrame:
    text = text.with_columns(pl.coalesce(told["canon"], pl.col(name)).alias(name))
    if told["doubt"].null_count() < told.height:
        text = text.with_columns(told["doubt"].alias(DOUBT.format(name)))
    if told["converted"].null_count() < told.height:
        text = text.with_columns(told["converted"].alias(CONVERTED.format(name)))
    return text


def _dates(
    column: Column, text: pl.DataFrame, forms: Mapping[int, SheetForm], settings: Settings
) -> pl.DataFrame:
    this_year = max(season.last_day.year for season in settings.seasons)
    keys = {
        no: f"{form.dates}|{'serial' if column.name in form.serials else ''}"
        for no, form in forms.items()
    }

    def read(key: str, cell: str) -> Read:
        order, _, serial = key.partition("|")
        found = read_date(cell, this_year)
        if not found.orders:
            return AS_TYPED
        if found.serial and not serial:
            return Read(doubt=reason("day-number", str(found.day)))
        day = found.day
        if "" not in found.orders and order:
            if order not in found.orders:
                meant = next(iter(found.orders.values()))
                return Read(doubt=reason("other-date-order", str(meant)))
            day = found.orders[order]
        if day is None:
            return Read(doubt=reason("either-date", *map(str, found.orders.values())))
        return Read(day.isoformat())

    needed = ~pl.col(column.name).str.contains("^(19|20)[0-9]{2}-[0-9]{2}-[0-9]{2}$")
    if not text.select(needed.any()).item():
        return text
    return _settled(column.name, text, _look_up(column.name, text, keys, needed, read))


def _numbers(
    kind: Kind,
    column: Column,
    text: pl.DataFrame,
    forms: Mapping[int, SheetForm],
    settings: Settings,
) -> pl.DataFrame:
    keys = {no: f"{form.decimal}|{form.units.get(column.name, '')}" for no, form in forms.items()}
    cell = pl.col(column.name)
    fits = canonical_number(column, settings.decimals)
    # Where every sheet has a decimal point and no unit in its heading, canonical cells stay as
    # they are.
    usual = set(keys.values()) == {f"{POINT}|"}
    needed = ~cell.str.contains(fits if usual else "^[+-]?[0-9]{1,9}$")
    if not usual and any(not key.endswith("|") for key in keys.values()):
        needed = cell.is_not_null()
    if not text.select(needed.any()).item():
        return text

    def read(key: str, cell: str) -> Read:
        mark, _, unit = key.partition("|")
        return read_number(column, cell, mark, unit, settings)

    told = _look_up(column.name, text, keys, needed, read)
    if told["measure"].null_count() < told.height:
        told = weighed(kind, text, told, places_of(column, settings), settings)
    return _settled(column.name, text, told)


def read_number(column: Column, cell: str, mark: str, unit: str, settings: Settings) -> Read:
    """Read one number under its sheet's decimal mark ("" where that is open) and its heading's
    unit.
    """
    written = take_apart(cell)
    if written is None or is_nothing(cell) or is_error(cell):
        return AS_TYPED
    named = _unit_of(column, written.before, written.after, unit, settings)
    if isinstance(named, Read):
        return named
    found = readings(written.number, whole=column.type == "integer")
    if not found:
        return AS_TYPED
    values = set(found.values())
    if len(values) == 1 and (not mark or mark in found):
        number = values.pop()
    elif mark and mark in found:
        number = found[mark]
    elif mark:
        return Read(doubt=reason("other-decimal-mark", next(iter(found.values()))))
    else:
        return Read(doubt=reason("either-number", found[POINT], found[COMMA]))
    number = written.sign + number
    quantity, own = measured(column)
    if not named or not quantity or named == own:
        return Read(number)
    if named in spellings(quantity).values():
        worth = worth_in(column, named, settings.sheets.quintal_kg)
        return Read(convert(number, worth, places_of(column, settings)), converted=named)
    return Read(amount=number, measure=named, converted=named)


def places_of(column: Column, settings: Settings) -> int:
    """Return how many decimals a column keeps."""
    return (digits_of(column, settings.decimals) or (0, 0))[1]


def _unit_of(
    column: Column, before: str, after: str, heading: str, settings: Settings
) -> str | Read:
    """Return the unit of a number ("" for the stored one), or what is to be said about the cell."""
    quantity, _ = measured(column)
    word = after.rstrip(".")
    if column.type in ("money", "price"):
        return _money_unit(column, before, after, heading, settings)
    if before:
        return AS_TYPED
    if not word:
        if "/" in heading:
            return Read(doubt=reason("unit-in-doubt", heading))
        return _known_heading(column, heading)
    if is_own_unit(column, word) or _is_own_word(column, word):
        return ""
    if not quantity:
        return AS_TYPED
    if (unit := spellings(quantity).get(normal_unit(word))) is not None:
        return unit
    if quantity == "weight" and is_doubtful(word):
        return Read(doubt=reason("unit-of-many-weights", word))
    if quantity == "weight" and not quantity_of(word):
        return measure_name(word, settings) or AS_TYPED
    return AS_TYPED


def _known_heading(column: Column, heading: str) -> str | Read:
    """Return the unit that a heading names, or what is to be said where it cannot be converted."""
    quantity, own = measured(column)
    if not heading or heading in (spellings(quantity).values() if quantity else ()):
        return heading
    if not quantity:
        return Read(doubt=reason("unit-does-not-fit", heading))
    if quantity == "weight" and is_doubtful(heading):
        return Read(doubt=reason("unit-of-many-weights", heading))
    if quantity == "weight" and heading in measure_names().values():
        return heading
    return Read(doubt=reason("unknown-unit", heading, own, HINTS[quantity]))


def normal_unit(word: str) -> str:
    """Return a unit as it is compared: small letters, no spaces or full stops: "Sq. M" -> "sqm"."""
    return fold(word).replace(" ", "").replace(".", "")


def _is_own_word(column: Column, word: str) -> bool:
    """Tell whether a word beside a number is only the column's own: "2 bags" under Bags."""
    own = {
        normal_heading(column.unit),
        normal_heading(column.name),
        *map(normal_heading, column.headings),
    }
    spoken = normal_heading(word)
    return column.type in ("integer", "days") and bool({spoken, f"{spoken}s"} & (own - {""}))


def _money_unit(
    column: Column, before: str, after: str, heading: str, settings: Settings
) -> str | Read:
    if column.type == "price":
        after, per = [*(PER.split(after, 1) if after != "/=" else [after]), ""][:2]
        weight = spellings("weight").get(normal_unit(per)) if per else heading or "kg"
        if weight != "kg":
            return (
                Read(doubt=reason("price-per-other-unit", per or heading)) if weight else AS_TYPED
            )
    elif heading and heading.split("/") != [settings.currency] and not (before or after):
        return Read(doubt=reason("other-currency", heading, settings.currency))
    for mark in filter(None, (before, after.strip())):
        fits = currency_fits(mark, settings.currency)
        if fits is None:
            return AS_TYPED
        if not fits:
            return Read(doubt=reason("other-currency", mark, settings.currency))
    return ""
