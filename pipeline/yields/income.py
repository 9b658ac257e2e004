"""Where the season's income came from and went, and why it differs from elsewhere or before."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

import duckdb
import polars as pl

from pipeline.yields.parts import Crop, Parts, parted
from pipeline.yields.people import rows_of
from pipeline.yields.small import shown_as


@dataclass(frozen=True, slots=True, kw_only=True)
class Came:
    """One line of what came in (+) or went out (-), minor units; members it is of."""

    what: str
    side: str
    amount_minor: int
    members: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """A village beside the whole group, or a season beside the one before, with the parts.

    `name`: the village, None for small ones together, or the season before. `parts` None where a
    factor is not known on either side.
    """

    name: str | dt.date | None
    members: int
    parts: Parts | None


def came_and_went(con: duckdb.DuckDBPyConnection) -> list[Came]:
    """Return the season's income by its sources and the recorded costs by heading, cells over five.

    Costs are of members who recorded them, income is of all; lines of fewer than five members are
    joined into one a side.
    """
    found: list[Came] = []
    lines = rows_of(con, "came_and_went")
    for side in dict.fromkeys(line["side"] for line in lines):
        mine = [line for line in lines if line["side"] == side]
        large = [line for line in mine if line["members"] >= 5]
        small = [line for line in mine if line["members"] < 5]
        found += [Came(**line) for line in large]
        if small:
            found.append(
                Came(
                    what="",
                    side=side,
                    amount_minor=sum(line["amount_minor"] for line in small),
                    members=max(line["members"] for line in small),
                )
            )
    return found


def _crop(row: dict[str, Any]) -> Crop:
    return Crop(
        trees=row["trees"],
        kg=float(row["kg"]),
        best_minor=row["best_minor"],
        value_minor=row["value_minor"],
        other_minor=row["other_minor"],
    )


def compared(seasons: list[dict[str, Any]]) -> Compared | None:
    """Return this season beside the last earlier one, or None where there is none with values."""
    valued = [row for row in seasons if row["valued"] and row["all_minor"] > 0]
    if len(valued) < 2 or valued[-1] is not seasons[-1]:
        return None
    before, now = valued[-2], valued[-1]
    return Compared(
        name=before["ended_on"], members=now["members"], parts=parted(_crop(before), _crop(now))
    )


def village_name(people: pl.DataFrame) -> pl.DataFrame:
    """Return the members whose trees, coffee and best price are known, by village as it is shown.

    Villages too small to be shown have none; without rows where none may be.
    """
    known = people.filter(
        (pl.col("trees_bearing") > 0)
        & (pl.col("per_tree_kg") > 0)
        & (pl.col("best_minor") > 0)
        & (pl.col("priced_minor") > 0)
    )
    shown = shown_as(
        dict(known.group_by("village").agg(pl.col("member_no").n_unique()).sort("village").rows())
    )
    if not shown:
        return known.clear()
    names = {old: new for old, new in shown.items() if new is not None}
    return known.with_columns(
        pl.col("village").replace_strict(names, default=None, return_dtype=pl.String)
    )


def villages_parted(people: pl.DataFrame) -> list[Compared]:
    """Return for each village what its coffee is worth beside the group's average on its trees."""
    known = village_name(people)
    if known.is_empty():
        return []
    table = (
        known.group_by("village")
        .agg(
            pl.col("member_no").n_unique().alias("members"),
            pl.col("trees_bearing").sum().alias("trees"),
            pl.col("gbe_kg").sum().alias("kg"),
            pl.col("best_minor").sum(),
            pl.col("priced_minor").sum().alias("value_minor"),
        )
        .sort("village", nulls_last=True)
    )
    lines = table.rows(named=True)
    total = {name: sum(line[name] for line in lines) for name in table.columns if name != "village"}
    found: list[Compared] = []
    for line in lines:
        share = line["trees"] / total["trees"]
        average = Crop(
            trees=line["trees"],
            kg=float(total["kg"]) * share,
            best_minor=round(total["best_minor"] * share),
            value_minor=round(total["value_minor"] * share),
        )
        here = _crop(line | {"other_minor": 0})
        found.append(
            Compared(name=line["village"], members=line["members"], parts=parted(average, here))
        )
    return found
