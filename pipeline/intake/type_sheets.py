"""From the text of many sheets to typed rows: plain ones at once, others as each is to be read."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import polars as pl

from pipeline.intake.canonical import canonical
from pipeline.intake.cells import TypedRows, trimmed, type_rows
from pipeline.intake.kinds import Kind
from pipeline.intake.odd import NUMBERS
from pipeline.intake.plain import plain, plain_columns
from pipeline.intake.settle import Front, SheetForm, settle_sheets
from pipeline.intake.shifted import mark_shifted
from pipeline.intake.units import other_units
from pipeline.intake.whole_rows import mark_broken
from pipeline.settings import Settings


def type_sheets(
    kind: Kind,
    text: pl.DataFrame,
    fronts: Mapping[int, Front],
    settings: Settings,
) -> TypedRows:
    """Type the rows of many sheets of a kind, each read as it itself settles.

    `text` as for `type_rows`, sheet after sheet; `fronts`: by sheet_no, what a sheet says outside
    its cells, its headings from left to right.
    """
    plain_ones = plain_columns(kind, text, settings.decimals)
    odd = _not_plain(kind, text, fronts, plain_ones, settings)
    is_odd = pl.col("sheet_no").is_in(odd)
    forms: dict[int, SheetForm] = {}
    parts: list[TypedRows] = []
    if odd:
        doubtful = text if _holds_only(text, odd) else text.filter(is_odd)
        doubtful = doubtful.with_columns(trimmed(column.name) for column in kind.columns)
        forms = settle_sheets(kind, fronts, doubtful, settings)
        parts.append(_typed(kind, doubtful, forms, settings))
    if not odd or not _holds_only(text, odd):
        parts.append(
            type_rows(kind, text.filter(~is_odd), settings.decimals)
            if odd
            else type_rows(kind, text, settings.decimals, plain_ones)
        )
    typed = parts[0]
    if len(parts) == 2:
        rows = pl.concat([part.rows for part in parts]).sort("sheet_no", "row_no")
        # Only sheets that are not plain have a unit to be converted.
        told = pl.concat([part.unreadable for part in parts])
        typed = TypedRows(rows, told, converted=parts[0].converted)
    if typed.unreadable.height:
        typed = mark_broken(kind, text, typed)
        orders = {no: list(front.headings) for no, front in fronts.items() if front.headings}
        typed = mark_shifted(
            kind, text, typed, orders, lambda rows: _typed(kind, rows, forms, settings)
        )
    return replace(typed, forms=forms)


def _holds_only(text: pl.DataFrame, sheets: Sequence[int]) -> bool:
    return bool(text["sheet_no"].is_in(list(sheets)).all())


def _typed(
    kind: Kind, text: pl.DataFrame, forms: Mapping[int, SheetForm], settings: Settings
) -> TypedRows:
    """Type trimmed text under its sheets' forms; what is not read is told as it was typed."""
    own = {no: forms.get(no, SheetForm()) for no in text["sheet_no"].unique()}
    brought = canonical(kind, text, own, settings)
    typed = type_rows(kind, brought, settings.decimals)
    if not typed.unreadable.height:
        return typed
    as_typed = pl.coalesce(
        *(pl.when(pl.col("col") == c.name).then(pl.col(f"typed {c.name}")) for c in kind.columns),
        pl.col("value"),
    )
    named = text.select(
        "sheet_no", "row_no", *(pl.col(c.name).alias(f"typed {c.name}") for c in kind.columns)
    )
    told = typed.unreadable.join(
        named, on=["sheet_no", "row_no"], how="left", maintain_order="left"
    ).with_columns(as_typed.alias("value"))
    return replace(typed, unreadable=told.select(typed.unreadable.columns))


def _not_plain(
    kind: Kind,
    text: pl.DataFrame,
    fronts: Mapping[int, Front],
    plain_ones: set[str],
    settings: Settings,
) -> list[int]:
    """Return the sheets that hold a cell not written the plain way, or name a unit in a heading."""
    odd = [
        column
        for column in kind.columns
        if column.name not in plain_ones and (column.type in NUMBERS or column.type == "date")
    ]
    found: set[int] = set()
    if odd:
        some = pl.any_horizontal(~plain(column, settings.decimals) for column in odd)
        found.update(text.filter(some)["sheet_no"].unique())
    told = {no: front.headings.items() for no, front in fronts.items()}
    # Most sheets have the same headings.
    foreign = {
        (name, heading)
        for name, heading in {pair for pairs in told.values() for pair in pairs}
        if heading and other_units(kind.column(name), heading, settings.currency)
    }
    found.update(no for no, pairs in told.items() if not foreign.isdisjoint(pairs))
    return sorted(found)
