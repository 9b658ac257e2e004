"""Quartiles of yield and income by village, station, species, certificate and size of the land.

Quartiles are taken between members by linear interpolation (type 7 of Hyndman and Fan 1996, which
numpy, polars and R use where nothing is said). A group of fewer than five members is joined with
others; the joined ones have no name.
"""

from dataclasses import dataclass
from typing import Any

import polars as pl

from pipeline.yields.people import GROUPED_BY
from pipeline.yields.small import LEAST, shown_as


@dataclass(frozen=True, slots=True, kw_only=True)
class YieldSpread:
    """Kilograms of green a bearing tree and a hectare in one group of members with one species.

    `name` None: the groups that are too small, together. `n_ha`: members whose area is known.
    """

    by: str
    name: str | None
    species: str
    members: int
    lower: float
    middle: float
    upper: float
    n_ha: int
    middle_ha: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class IncomeSpread:
    """Price, cost and margin in one group of members whose margin is known; minor units.

    `below`: members whose coffee fetched less a kilogram than it cost, tools included. `per_day`:
    the middle return to a day of family work, of `n_days` members who wrote days down.
    """

    by: str
    name: str | None
    members: int
    price: float
    cost: float
    lower: int
    middle: int
    upper: int
    below: int
    n_days: int
    per_day: int | None


def _quartile(column: str, share: float) -> pl.Expr:
    return pl.col(column).quantile(share, interpolation="linear")


def shown_under(some: pl.DataFrame, by: str) -> pl.DataFrame:
    """Give each member the name its group is shown under; without rows where none may be."""
    counts = some.group_by(by, maintain_order=True).agg(pl.col("member_no").n_unique())
    shown = shown_as(dict(counts.iter_rows()))
    # What has no name of its own is named "(none)" here, so that null stays for the others.
    names = {old: new for old, new in shown.items() if new is not None}
    if not shown:
        return some.clear().with_columns(pl.lit(None, pl.String).alias("shown"))
    return some.with_columns(
        pl.col(by).replace_strict(names, default=None, return_dtype=pl.String).alias("shown")
    )


def _shown(row: dict[str, Any], figure: str, members: str) -> dict[str, Any]:
    """Leave a figure out that fewer than five members of the group have."""
    return row if row[members] >= LEAST else row | {figure: None}


def yield_spreads(people: pl.DataFrame) -> list[YieldSpread]:
    """Return the spread of yields by each way of grouping, a species at a time."""
    grown = people.filter(pl.col("per_tree_kg") > 0)
    found: list[YieldSpread] = []
    for by in (name for name in GROUPED_BY if name != "species"):
        for species in grown["species"].unique().sort():
            some = shown_under(grown.filter(pl.col("species") == species), by)
            table = (
                some.group_by("shown")
                .agg(
                    pl.len().alias("members"),
                    _quartile("per_tree_kg", 0.25).alias("lower"),
                    _quartile("per_tree_kg", 0.5).alias("middle"),
                    _quartile("per_tree_kg", 0.75).alias("upper"),
                    pl.col("per_ha_kg").count().alias("n_ha"),
                    _quartile("per_ha_kg", 0.5).alias("middle_ha"),
                )
                .sort("shown", nulls_last=True)
            )
            found += [
                YieldSpread(
                    by=by,
                    name=row.pop("shown"),
                    species=species,
                    **_shown(row, "middle_ha", "n_ha"),
                )
                for row in table.iter_rows(named=True)
            ]
    return found


def known_margins(people: pl.DataFrame) -> pl.DataFrame:
    """Return one row a member whose margin and cost a kilogram are known."""
    known = people.filter(pl.col("first") & pl.col("margin_minor").is_not_null())
    return known.filter(pl.col("cost_per_kg").is_not_null())


def income_spreads(people: pl.DataFrame) -> list[IncomeSpread]:
    """Return the spread of margins by each way of grouping, of members whose margin is known."""
    known = known_margins(people)
    found: list[IncomeSpread] = []
    for by in GROUPED_BY:
        table = (
            shown_under(known, by)
            .group_by("shown")
            .agg(
                pl.len().alias("members"),
                _quartile("price_per_kg", 0.5).alias("price"),
                _quartile("cost_per_kg", 0.5).alias("cost"),
                _quartile("margin_minor", 0.25).round().cast(pl.Int64).alias("lower"),
                _quartile("margin_minor", 0.5).round().cast(pl.Int64).alias("middle"),
                _quartile("margin_minor", 0.75).round().cast(pl.Int64).alias("upper"),
                (pl.col("price_per_kg") < pl.col("cost_per_kg")).sum().alias("below"),
                pl.col("per_family_day_minor").count().alias("n_days"),
                _quartile("per_family_day_minor", 0.5).round().cast(pl.Int64).alias("per_day"),
            )
            .sort("shown", nulls_last=True)
        )
        found += [
            IncomeSpread(
                by=by,
                name=row.pop("shown"),
                **_shown(row, "per_day", "n_days"),
            )
            for row in table.iter_rows(named=True)
        ]
    return found
