"""What else varies from season to season: how bags are filled, lots' cards kept, trees counted."""

from datetime import date
from typing import Any

import numpy as np
import polars as pl

from pipeline.samples.draws import Draws
from pipeline.samples.land import SEASON_YEAR
from pipeline.samples.people import Station

# One bag more than the coffee needs, or one that holds a little more than it should.
BAG_MORE, BAG_FULL, FULLEST_HG = 0.04, 0.3, 750
# Every third station weighs the day's cherry again before it is pulped; the others' cards say what
# the receipts add up to.
WEIGHS_AGAIN, AGAIN_OFF = 3, 0.004
COUNTED_BEFORE, COUNT_OFF, REPLANTED = 0.85, 0.01, 0.02


def cards_are_sums(places: tuple[Station, ...], at: str) -> bool:
    """Tell whether a station's cards say what its receipts add up to."""
    position = next(n for n, place in enumerate(places) if place.code == at)
    return position % WEIGHS_AGAIN != WEIGHS_AGAIN - 1


def bags_as_filled(draws: Draws, weighed: pl.DataFrame) -> pl.DataFrame:
    """Let some bring a bag more than it takes, and some fill one bag to the brim."""
    count = weighed.height
    more = pl.Series(draws.hit(BAG_MORE, count))
    full = pl.Series(draws.hit(BAG_FULL, count)) & (weighed["net_kg"] <= FULLEST_HG)
    bags = pl.when(full).then(1).otherwise(pl.col("bags") + more.cast(pl.Int64))
    return weighed.with_columns(bags=bags)


def cards_as_kept(draws: Draws, places: tuple[Station, ...], lots: pl.DataFrame) -> pl.DataFrame:
    """Let some stations' cards say what the pulper's scale showed, not the receipts' sum."""
    off = pl.Series(1 + AGAIN_OFF * draws.bell(lots.height))
    again = [place.code for place in places if not cards_are_sums(places, place.code)]
    here = pl.col("station").is_in(again) & (pl.col("step") == "receiving")
    here &= pl.col("form") == "fresh_cherry"
    read = (pl.col("kg_out") * off).round().cast(pl.Int64)
    return lots.with_columns(kg_out=pl.when(here).then(read).otherwise("kg_out"))


def counted_before(draws: Draws, plots: pl.DataFrame) -> list[dict[str, Any]]:
    """Return the counts of a year before, of most plots: a little off, and a few truly changed."""
    count = plots.height
    seen = draws.hit(COUNTED_BEFORE, count)
    off = 1 + COUNT_OFF * draws.bell(count)
    changed = np.where(draws.hit(REPLANTED, count), 0.75 + 0.4 * draws.uniform(count), 1.0)
    found: list[dict[str, Any]] = []
    for row, was_seen, factor in zip(
        plots.iter_rows(named=True), seen, (off * changed).tolist(), strict=True
    ):
        if not was_seen or row["planted_year"] >= SEASON_YEAR - 1:
            continue
        bore = row["planted_year"] <= SEASON_YEAR - 4 or not row["trees_bearing"]
        earlier = {
            "counted_on": date(SEASON_YEAR - 1, row["counted_on"].month, row["counted_on"].day),
            # What was stumped since stood then.
            "stumped_year": None if row["stumped_year"] == SEASON_YEAR - 1 else row["stumped_year"],
            "trees": min(round(row["trees"] * factor), int(row["trees"] * 1.04)),
            "trees_bearing": int(row["trees_bearing"] * min(factor, 1.0)) if bore else 0,
        }
        found.append(row | earlier | {"_old": True})
    return found
