"""How large the crop will be: by station first, then its members and blocks, with a range of 80 %.

Two things are known of a station's crop. What its trees bore before, brought to this year's trees
and their age, with the swing from one year to the next that trees of a place have; and what is in
so far, over the share that was in by this day in earlier seasons. Both are estimates of one number;
each counts by how wrong it would have been in earlier seasons (weights of inverse variance, on the
logarithm). Early in the season the first counts most, late the second.
"""

import datetime as dt
from dataclasses import dataclass
from typing import Any

import duckdb
import numpy as np
import polars as pl

from pipeline.season.tables import rows
from pipeline.yields.crop_station import (
    QUARTERS,
    Places,
    Real,
    band,
    from_trees,
    joined,
    past_of,
    ratio,
    share_in,
    summed,
)
from pipeline.yields.people import frame

# One member's crop is less sure than that of a whole station by so much, on the logarithm.
MEMBER_APART = 0.30
LEVEL = 0.8
WHOSE = ["member_no", "species"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """Kilograms of green of one station or the group, the range of 80 %, and what is in."""

    name: str
    kg: float
    low: float
    high: float
    in_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Crop:
    """The crop of a season as it can be told on a day.

    `share_of_days`: of the season's days that are over. `share_in`: of a usual crop, None without
    earlier seasons. `seasons`: earlier seasons that it rests on. `members`: one row a member and
    species: member_no, village, station, species, kg, low, high, in_kg. `blocks` likewise by plot.
    """

    share_of_days: float
    share_in: float | None
    seasons: int
    group: Estimate
    stations: list[Estimate]
    members: pl.DataFrame
    blocks: pl.DataFrame


def estimate(con: duckdb.DuckDBPyConnection, *, ahead: bool = False) -> Crop | None:
    """Return this season's crop as it can be told now, or with `ahead` the next one's.

    None where no bearing trees are in the register. Coffee of members without counted trees is in
    nobody's estimate.
    """
    blocks = frame(con, "crop_blocks")
    if blocks.is_empty():
        return None
    past, so_far = frame(con, "crop_past"), frame(con, "crop_in")
    first, last, day = rows(
        con,
        "select d.first_day, d.last_day, (select max(day) from weighings where state = 'counted') "
        "from season_days as d",
    )[0]
    share = 0.0
    if day is not None:
        share = min(1.0, max(0.0, ((day - first).days + 1) / ((last - first).days + 1)))
    if ahead:
        past = pl.concat([past, _as_past(so_far, blocks, last, past.schema)])
        so_far, share = so_far.clear(), 0.0
        blocks = blocks.with_columns(pl.col("next_pct").alias("share_pct"))
    return _told(_members(blocks, past, so_far), blocks, past, share)


def _as_past(
    so_far: pl.DataFrame, blocks: pl.DataFrame, ended: dt.date, schema: pl.Schema
) -> pl.DataFrame:
    """Return this season as one more of the earlier ones, without the days it came in on."""
    trees = blocks.group_by(WHOSE).agg(
        pl.col("trees_bearing").sum().alias("trees"),
        (pl.col("trees_bearing") * pl.col("share_pct") / 100).sum().alias("full"),
    )
    return (
        so_far.join(trees, on=WHOSE, how="inner")
        .select(
            *WHOSE,
            pl.lit(ended).alias("ended_on"),
            pl.col("in_kg").alias("kg"),
            "trees",
            "full",
            *(pl.lit(None, pl.Float64).alias(quarter) for quarter in QUARTERS),
        )
        .cast(dict(schema))  # pyright: ignore[reportArgumentType]
        .sort(WHOSE)
    )


def _members(blocks: pl.DataFrame, past: pl.DataFrame, so_far: pl.DataFrame) -> pl.DataFrame:
    """Return one row a member and species: trees as in full bearing, band, usual kg, kg in."""
    bearing = pl.col("trees_bearing")
    now = blocks.group_by(WHOSE, maintain_order=True).agg(
        pl.col("village", "station").first(),
        (bearing * pl.col("share_pct") / 100).sum().alias("full"),
        (bearing * pl.col("low_kg")).sum().alias("low_band"),
        (bearing * pl.col("high_kg")).sum().alias("high_band"),
    )
    bore = (
        past.filter(pl.col("full") > 0)
        .sort("ended_on")
        .group_by(WHOSE, maintain_order=True)
        .agg((pl.col("kg") / pl.col("full")).mean().alias("usual"), pl.len().alias("seen"))
    )
    return (
        now.join(bore, on=WHOSE, how="left", maintain_order="left")
        .join(so_far, on=WHOSE, how="left", maintain_order="left")
        .with_columns(
            pl.col("in_kg").fill_null(0.0),
            pl.col("seen").fill_null(0).cast(pl.Float64),
            pl.col("station").fill_null(""),
        )
    )


def _told(each: pl.DataFrame, blocks: pl.DataFrame, rows_past: pl.DataFrame, share: float) -> Crop:
    from scipy import stats

    names: list[str] = each["station"].unique().sort().to_list()
    place = {name: n for n, name in enumerate(names)}
    at = np.array([place[name] for name in each["station"]], dtype=np.int64)
    past = past_of(each, at, rows_past, len(names))
    first = from_trees(each, at, past, len(names))
    in_kg = summed(at, each["in_kg"], len(names))
    usual_in, apart_in = share_in(past, share)
    kg, apart = joined(first, in_kg, usual_in, apart_in)
    reach = float(stats.t.ppf(0.5 + LEVEL / 2, first.freedom)) * apart
    kg, low, high = (
        np.maximum(told, in_kg) for told in (kg, kg * np.exp(-reach), kg * np.exp(reach))
    )
    stations = [
        Estimate(
            name=name, **dict(zip(("kg", "low", "high", "in_kg"), map(float, told), strict=True))
        )
        for name, *told in zip(names, kg, low, high, in_kg, strict=True)
    ]
    members = _of_members(each, at, kg, reach)
    return Crop(
        share_of_days=share,
        share_in=None if usual_in is None else float(np.average(usual_in, weights=kg + 1e-9)),
        seasons=past.seasons,
        group=_group(stations),
        stations=stations,
        members=members,
        blocks=_of_blocks(members, blocks),
    )


def _group(stations: list[Estimate]) -> Estimate:
    """Return the group's crop; weather is common to all, so that ranges are added, not halved."""
    names = ("kg", "low", "high", "in_kg")
    return Estimate(
        name="", **{name: float(sum(getattr(one, name) for one in stations)) for name in names}
    )


def _of_members(each: pl.DataFrame, at: Places, kg: Real, reach: Real) -> pl.DataFrame:
    """Share what a station has still to come over its members, by what each usually bears."""
    in_kg, stations = each["in_kg"].to_numpy(), len(kg)
    usual = (each["usual"] * each["full"]).to_numpy()
    weight = np.where(np.isfinite(usual), usual, band(each))
    aim = weight * ratio(kg, summed(at, weight, stations))[at]
    # Who brought more than expected is not done yet: a twentieth of the aim may still come.
    to_come = np.maximum(aim - in_kg, 0.05 * aim)
    left = np.maximum(kg - summed(at, in_kg, stations), 0.0)
    to_come *= ratio(left, summed(at, to_come, stations))[at]
    told = in_kg + to_come
    wide = ratio(to_come, told) * np.sqrt(reach[at] ** 2 + (1.2816 * MEMBER_APART) ** 2)
    return each.select(*WHOSE, "village", "station", "in_kg").with_columns(
        pl.Series("kg", told),
        pl.Series("low", np.maximum(told * np.exp(-wide), in_kg)),
        pl.Series("high", told * np.exp(wide)),
    )


def _of_blocks(members: pl.DataFrame, blocks: pl.DataFrame) -> pl.DataFrame:
    """Share each member's estimate over the blocks, by bearing trees and their age."""
    weight = pl.col("trees_bearing") * pl.col("share_pct")
    whole = weight.sum().over(WHOSE)
    part: Any = pl.when(whole > 0).then(weight / whole).otherwise(0.0)
    told = members.select(*WHOSE, "kg", "low", "high")
    return blocks.join(told, on=WHOSE, how="left", maintain_order="left").with_columns(
        *((pl.col(name) * part).alias(name) for name in ("kg", "low", "high"))
    )
