"""The members' plots and what their trees bear."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl

from pipeline.samples.draws import Draws, Real, Whole
from pipeline.samples.people import SPECIES, Members, days_from

SEASON_YEAR = 2026
# Row and tree spacing in tenths of a metre, by species; the last robusta one is set triangular.
SPACINGS = (
    ((25, 20), (20, 20), (25, 25), (30, 20)),
    ((30, 25), (30, 30), (30, 25), (30, 30)),
)
TRIANGULAR = 2.0 / np.sqrt(3.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Land:
    """Each member's crop in kg of green bean equivalent, and the frame of the plots sheet."""

    crop_kg: Real
    frame: pl.DataFrame


def land(seed: int, register: Members) -> Land:
    """Draw one to three plots a member, their trees, and the year's crop."""
    draws = Draws(seed, "land")
    people = len(register.number)
    plots = 1 + draws.pick([0.55, 0.30, 0.15], people)
    owner = np.repeat(np.arange(people), plots)
    count = len(owner)
    plot_no = np.arange(count) - np.repeat(np.cumsum(plots) - plots, plots) + 1
    species = register.species[owner]
    kind = draws.pick([0.45, 0.25, 0.2, 0.1], count)
    spacing = np.array(SPACINGS, dtype=np.int64)[species, kind]
    triangular = (species == 1) & (kind == 3)
    area = np.clip(np.round(17 * np.exp(0.5 * draws.bell(count))), 5, 60).astype(np.int64)
    density = 1e6 / (spacing[:, 0] * spacing[:, 1]) * np.where(triangular, TRIANGULAR, 1.0)
    gaps = 0.005 + 0.045 * draws.uniform(count)
    trees = np.floor(area / 100 * density * (1 - gaps)).astype(np.int64)
    planted, stumped = _years(draws, plot_no)
    bearing = np.floor(trees * (1 - 0.08 * draws.uniform(count))).astype(np.int64)
    bearing[(planted > SEASON_YEAR - 3) | (stumped > SEASON_YEAR - 3)] = 0
    frame = pl.DataFrame(
        {
            "member_no": register.number[owner],
            "plot_no": plot_no,
            "species": pl.Series(SPECIES).gather(species),
            "planted_year": planted,
            "trees": trees,
            "trees_bearing": bearing,
            "row_spacing_m": spacing[:, 0],
            "tree_spacing_m": spacing[:, 1],
            "layout": pl.Series(["rectangular", "triangular"]).gather(triangular.astype(np.int64)),
            "area_ha": area,
            "stumped_year": pl.Series(stumped).replace(0, None),
            "counted_on": days_from(date(2026, 2, 2), draws.whole(0, 45, people))[owner],
        }
    )
    return Land(crop_kg=_crop(draws, owner, bearing, people), frame=frame)


def _years(draws: Draws, plot_no: Whole) -> tuple[Whole, Whole]:
    """Return the year of planting and of the last stumping (0: never) of each plot."""
    count = len(plot_no)
    # A member's first plot bears, so that everybody has something to deliver.
    latest = np.where(plot_no == 1, 2019, 2024)
    planted = 1998 + np.floor(draws.uniform(count) * (latest - 1997)).astype(np.int64)
    years = np.array([2017, 2018, 2019, 2020, 2021, 2022, 2023, 2025], dtype=np.int64)
    year = years[draws.whole(0, len(years) - 1, count)]
    year = np.where((plot_no == 1) & (year > 2022), 2021, year)
    done = (planted <= 2008) & draws.hit(0.35, count)
    return planted, np.where(done, year, 0)


def _crop(draws: Draws, owner: Whole, bearing: Whole, people: int) -> Real:
    """Return kg of green a member: about 0.45 kg a bearing tree, never beyond 1.2."""
    skill = 0.22 * draws.bell(people)[owner] + 0.15 * draws.bell(len(owner))
    per_tree = np.clip(np.exp(np.log(0.45) + skill), 0.15, 1.2)
    return np.bincount(owner, weights=bearing * per_tree, minlength=people).astype(np.float64)
