"""What earlier seasons say of a station's crop: its usual size, its swing, and when it comes in."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import polars as pl

Real = npt.NDArray[np.float64]
Places = npt.NDArray[np.int64]
# Before earlier seasons say otherwise: the swing back after a large or small crop; how far a crop
# is from what trees bore before; how far the share that is in after a quarter, half and three
# quarters of the days is from its usual one; and how far it may be off between these days. All on
# the logarithm. SEASONS: for how many seasons each stands. Tuned on the seeds that the crop's trial
# names.
BACK, CROP_APART, BETWEEN_APART = -0.35, 0.18, 0.10
IN_APART = np.array([0.06, 0.09, 0.012])
SEASONS = 2.0
POINTS = np.array([0.0, 0.25, 0.5, 0.75, 1.0])
# The band of blocks of an age, without any earlier season: its ends are a factor of three apart.
BAND_APART = 0.45
QUARTERS = ("quarter_kg", "half_kg", "three_quarters_kg")


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """Earlier seasons at each station: log kg a full tree, and the shares in by three days.

    `logs`: seasons x stations; `shares`: seasons x 3 x stations, of seasons that have them.
    """

    logs: Real
    shares: Real

    @property
    def seasons(self) -> int:
        """How many earlier seasons there are."""
        return len(self.logs)


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What is known of each station's crop from one side: kg, and how far off on the logarithm."""

    kg: Real
    apart: float
    freedom: float


def summed(at: Places, weights: Any, stations: int) -> Real:
    """Return a sum a station, in the order of the rows."""
    return np.bincount(at, weights=np.asarray(weights, np.float64), minlength=stations).astype(
        np.float64
    )


def ratio(upper: Real, lower: Real, empty: float = 0.0) -> Real:
    """Return upper over lower, `empty` where lower is nought."""
    return np.where(lower > 0, upper / np.where(lower > 0, lower, 1.0), empty)


def band(each: pl.DataFrame) -> Real:
    """Return the middle of each member's expected band, kg."""
    low, high = (each[name].fill_null(0.0).to_numpy() for name in ("low_band", "high_band"))
    return np.sqrt(low * high)


def past_of(each: pl.DataFrame, at: Places, past: pl.DataFrame, stations: int) -> Past:
    """Return earlier seasons by station. A station without a crop says what all together say."""
    where = each.select("member_no", "species").with_columns(pl.Series("at", at))
    known = past.filter(pl.col("full") > 0).join(where, on=["member_no", "species"], how="inner")
    logs: list[Real] = []
    shares: list[Real] = []
    for ended in known["ended_on"].unique().sort():
        one = known.filter(pl.col("ended_on") == ended)
        kg, full = (summed(one["at"].to_numpy(), one[n], stations) for n in ("kg", "full"))
        if kg.sum() <= 0:
            continue
        logs.append(np.log(np.where(kg > 0, ratio(kg, full), kg.sum() / full.sum())))
        dated = one.drop_nulls(list(QUARTERS))
        place = dated["at"].to_numpy()
        total = summed(place, dated["kg"], stations)
        if total.sum() > 0:
            parts = np.stack([summed(place, dated[quarter], stations) for quarter in QUARTERS])
            mean = parts.sum(axis=1, keepdims=True) / total.sum()
            shares.append(np.where(total > 0, parts / np.where(total > 0, total, 1.0), mean))
    return Past(
        logs=np.stack(logs) if logs else np.zeros((0, stations)),
        shares=np.stack(shares) if shares else np.zeros((0, 3, stations)),
    )


def from_trees(each: pl.DataFrame, at: Places, past: Past, stations: int) -> Known:
    """Return what the trees promise, by what each member's bore before and the swing of a place."""
    if past.seasons == 0:
        return Known(kg=summed(at, band(each), stations), apart=BAND_APART, freedom=30.0)
    usual, seen = each["usual"].fill_null(0.0).to_numpy(), each["seen"].to_numpy()
    full = each["full"].to_numpy()
    mean = ratio(
        summed(at, usual * full, stations), summed(at, np.where(seen > 0, full, 0.0), stations)
    )
    # A member's usual crop is drawn to the station's, the more so the fewer seasons are known.
    promised = summed(at, (usual * seen + mean[at]) / (seen + 1) * full, stations)
    middle = past.logs.mean(axis=0)
    off = past.logs - middle
    neighbours, squares = float((off[1:] * off[:-1]).sum()), float((off[:-1] ** 2).sum())
    # Seasons held beside their own few years' mean look contrary by that alone: it is given back.
    prior = SEASONS * CROP_APART**2 * stations / 2
    back = (neighbours + squares / max(past.seasons, 2) + BACK * prior) / (squares + prior)
    back = float(np.clip(back, -0.9, 0.3))
    left = off[1:] - back * off[:-1]
    count = past.seasons - 1
    lost = past.seasons / max(count, 1)
    variance = (float((left**2).sum()) / stations * lost + SEASONS * CROP_APART**2) / (
        count + SEASONS
    )
    return Known(
        kg=promised * np.exp(back * off[-1]),
        apart=float((variance * (1 + 1 / past.seasons)) ** 0.5),
        freedom=3.0 * (count + SEASONS),
    )


def share_in(past: Past, share_of_days: float) -> tuple[Real | None, float]:
    """Return what share of a crop is in by now at each station, and how far off that may be."""
    from scipy.interpolate import PchipInterpolator

    if not len(past.shares) or share_of_days <= 0:
        return None, 0.0
    ends = past.shares[:, :1]
    curves = np.concatenate([np.zeros_like(ends), past.shares, np.ones_like(ends)], axis=1)
    middle, seasons = curves.mean(axis=0), len(curves)
    through: Any = PchipInterpolator(POINTS, middle, axis=0)
    share = np.clip(np.asarray(through(share_of_days), np.float64), 1e-3, 1.0)
    if share_of_days >= 1:
        return share, 0.0
    off = np.log(np.clip(curves[:, 1:4], 1e-3, 1.0) / np.clip(middle[1:4], 1e-3, 1.0))
    squares = (off**2).sum(axis=0).mean(axis=1) * seasons / max(seasons - 1, 1)
    variance = (squares + SEASONS * IN_APART**2) / (seasons - 1 + SEASONS) * (1 + 1 / seasons)
    known = np.sqrt(variance)
    # In the first quarter the less is known the less is in.
    at = float(np.interp(share_of_days, POINTS[1:], [*known, 0.0]))
    at *= max(1.0, POINTS[1] / share_of_days) ** 0.5
    near = float(np.abs(share_of_days - POINTS).min()) / float(POINTS[1])
    between = BETWEEN_APART * np.sin(np.pi * near) * (1 - share)
    return share, float((at**2 + between**2).mean() ** 0.5)


def joined(first: Known, in_kg: Real, usual_in: Real | None, apart_in: float) -> tuple[Real, Real]:
    """Return the estimate from both sides, and how far off it may be, on the logarithm."""
    alone = np.full(len(first.kg), first.apart)
    if usual_in is None:
        return first.kg, alone
    second = in_kg / usual_in
    if apart_in == 0:
        return second, np.zeros(len(second))
    heavy_first, heavy_in = first.apart**-2, apart_in**-2
    both = (first.kg > 0) & (second > 0)
    logs = heavy_first * np.log(np.where(both, first.kg, 1.0))
    logs += heavy_in * np.log(np.where(both, second, 1.0))
    return (
        np.where(both, np.exp(logs / (heavy_first + heavy_in)), np.maximum(first.kg, second)),
        np.where(both, (heavy_first + heavy_in) ** -0.5, alone),
    )
