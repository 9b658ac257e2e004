"""Draws seasons of coffee at stations, to try the crop estimate on: earlier crops and one to come.

Every block ages, is renewed or not, and bears more in one year and less in the next; weather moves
all stations, a zone or one station; picking begins earlier or later. None of the numbers below is
known to the estimate, which sees registers, earlier crops and what came in up to a day.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt
import polars as pl

Real = npt.NDArray[np.float64]
FIRST, LAST = date(2026, 3, 30), date(2026, 10, 4)
STATIONS, MEMBERS, PAST = 8, 40, 4
WEATHER, ZONE, STATION, PLOT = 0.12, 0.08, 0.07, 0.25
SWING = (0.10, 0.30)
LATER, LATER_HERE = 0.022, 0.012
POINTS = np.linspace(0, 1, 189)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """Registers, earlier crops, what is in after a share of the days, and the truth by station."""

    members: pl.DataFrame
    plots: pl.DataFrame
    past: pl.DataFrame
    so_far: pl.DataFrame
    truth: dict[str, float]
    last_year: dict[str, float]
    day: date


def _age_share(age: Real) -> Real:
    """What trees bear of a full crop; another curve than the estimate's, on purpose."""
    rise = 1 / (1 + np.exp(-(age - 4.6) / 0.8))
    return np.where(age < 3, 0.0, rise * np.exp(-0.018 * np.maximum(0, age - 19)))


def _curve(later: float, rng: np.random.Generator) -> Real:
    """Return the share of a crop in by each day: a small early crop and a main one."""
    main = np.exp(-(((POINTS - 0.56 - later) / 0.14) ** 2) / 2)
    early = 0.2 * np.exp(-(((POINTS - 0.2 - later) / 0.06) ** 2) / 2)
    rate = (main + early + 0.15) * np.exp(0.15 * rng.standard_normal(len(POINTS)))
    return np.cumsum(rate) / rate.sum()


def draw(seed: int, share: float) -> Drawn:
    """Draw four earlier seasons and one to come, looked at after a share of its days."""
    rng = np.random.default_rng([seed, 7714])
    people = STATIONS * MEMBERS
    station = np.repeat(np.arange(STATIONS), MEMBERS)
    zone = rng.integers(0, 3, STATIONS)
    planted = rng.integers(1996, 2024, people)
    trees = np.round(np.exp(rng.normal(6.1, 0.5, people))).astype(np.int64)
    skill = np.exp(rng.normal(-0.8, PLOT, people) + rng.normal(0, 0.1, STATIONS)[station])
    swing = rng.uniform(*SWING, STATIONS)[station] * rng.choice([-1, 1], STATIONS)[station]
    # Most trees of a place bear in step, some against it.
    swing = swing * np.where(rng.random(people) < 0.8, 1, -1)
    renewed = rng.random(people) < 0.5
    crops: list[Real] = []
    curves: list[list[Real]] = []
    for year in range(2026 - PAST, 2027):
        sky = (
            rng.normal(0, WEATHER) + rng.normal(0, ZONE, 3)[zone] + rng.normal(0, STATION, STATIONS)
        )
        neglect = np.where(renewed, 0.0, 0.015 * np.maximum(0, year - planted - 12))
        level = np.log(skill) + sky[station] + swing * (-1) ** year - np.minimum(neglect, 0.3)
        noise = rng.normal(0, 0.15, people)
        crops.append(trees * _age_share(year - planted.astype(float)) * np.exp(level + noise))
        season_later = rng.normal(0, LATER)
        here = rng.normal(0, LATER_HERE, STATIONS) + np.array([-0.03, 0.0, 0.03])[zone]
        curves.append([_curve(season_later + one, rng) for one in here])
    names = [f"T{n:02}" for n in range(STATIONS)]
    numbers = [f"{1000 + n}" for n in range(people)]
    return Drawn(
        members=pl.DataFrame(
            {
                "member_no": numbers,
                "name": numbers,
                "village": [f"{names[s]} village" for s in station],
                "station": [names[s] for s in station],
            }
        ),
        plots=_plots(numbers, planted, trees, renewed, rng),
        past=pl.concat(
            _past(numbers, 2026 - PAST + n, crops[n], curves[n], station, trees, planted)
            for n in range(PAST)
        ),
        so_far=_so_far(numbers, crops[-1], curves[-1], station, share),
        truth=_by_station(crops[-1], station, names),
        last_year=_by_station(crops[-2], station, names),
        day=date.fromordinal(FIRST.toordinal() + round(share * (LAST - FIRST).days)),
    )


def _by_station(crop: Real, station: npt.NDArray[np.int64], names: list[str]) -> dict[str, float]:
    return {name: float(crop[station == n].sum()) for n, name in enumerate(names)}


def _plots(
    numbers: list[str],
    planted: npt.NDArray[np.int64],
    trees: npt.NDArray[np.int64],
    renewed: npt.NDArray[np.bool_],
    rng: np.random.Generator,
) -> pl.DataFrame:
    counted = np.round(trees * np.exp(rng.normal(0, 0.02, len(trees)))).astype(np.int64)
    return pl.DataFrame(
        {
            "member_no": numbers,
            "plot_no": "1",
            "species": "arabica",
            "planted_year": planted,
            "trees": counted,
            "trees_bearing": np.where(2026 - planted < 3, 0, counted),
            "area_ha": pl.Series(np.round(trees / 2000, 2)).cast(pl.Decimal(14, 4)),
            "pruned_year": np.where(renewed, 2025, 2018),
            "counted_on": date(2026, 3, 1),
        }
    )


def _past(
    numbers: list[str],
    year: int,
    crop: Real,
    curves: list[Real],
    station: npt.NDArray[np.int64],
    trees: npt.NDArray[np.int64],
    planted: npt.NDArray[np.int64],
) -> pl.DataFrame:
    at = [_at(curves, station, part) for part in (0.25, 0.5, 0.75)]
    names = ("by_quarter_kg", "by_half_kg", "by_three_quarters_kg")
    return pl.DataFrame(
        {
            "member_no": numbers,
            "species": "arabica",
            "ended_on": date(year, 10, 4),
            "green_kg": np.round(crop, 3),
            "trees_bearing": np.where(year - planted < 3, 0, trees),
            **{name: np.round(crop * share, 3) for name, share in zip(names, at, strict=True)},
        }
    )


def _so_far(
    numbers: list[str], crop: Real, curves: list[Real], station: npt.NDArray[np.int64], share: float
) -> pl.DataFrame:
    here = _at(curves, station, share)
    return pl.DataFrame({"member_no": numbers, "kg": np.round(crop * here, 3)})


def _at(curves: list[Real], station: npt.NDArray[np.int64], share: float) -> Real:
    """Return what share of each member's crop is in when a share of the days is over."""
    place = round(share * (len(POINTS) - 1))
    return np.array([float(curve[place]) for curve in curves])[station]
