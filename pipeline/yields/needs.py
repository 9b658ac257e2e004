"""What next season's crop asks for: manure, seedlings, mulch, bags, drying space, pickers, cash.

The rates are common practice with no source but where said, and are settings (`[[limit]]`).
"""

from dataclasses import dataclass

import duckdb
import numpy as np

from pipeline.yields.crop import Crop
from pipeline.yields.people import rows_of

BAG_KG = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Needs:
    """What a crop needs, each as a low and a high figure of its range of 80 %.

    `pickers`: by month of this season, people on each day that coffee comes in. None: not known.
    """

    manure_basins: int
    seedlings: int
    mulch_trees: int
    bags: tuple[int, int]
    drying_m2: tuple[int, int] | None
    pickers: list[tuple[str, int, int]]
    cash_minor: tuple[int, int] | None


def needs(con: duckdb.DuckDBPyConnection, crop: Crop) -> Needs:
    """Return what a crop asks for, from its range and from how last season's coffee came in."""
    basis = rows_of(con, "needs_basis")[0]
    ends = (crop.group.low, crop.group.high)
    trees = int(crop.blocks["trees_bearing"].sum())
    months = rows_of(con, "needs_months")
    whole = float(sum(row["gbe_kg"] for row in months))
    cherry = float(basis["cherry_per_green"])
    busiest = max((float(row["busiest_kg"]) for row in months), default=0.0)
    drying = None
    if whole > 0:
        # What the busiest fortnight brings in lies on the mats at one time.
        drying = _both(ends, busiest / whole * cherry / float(basis["drying_kg_per_m2"]))
    pickers = [
        (
            str(row["month"]),
            *_both(
                ends,
                float(row["gbe_kg"])
                / whole
                * cherry
                / float(basis["picking_kg_day"])
                / row["days"],
            ),
        )
        for row in months
        if whole > 0
    ]
    price = float(basis["minor_per_kg"]) if basis["minor_per_kg"] is not None else None
    return Needs(
        manure_basins=trees,
        seedlings=int(crop.blocks["gaps"].sum()),
        mulch_trees=int(crop.blocks["trees"].fill_null(0).sum()),
        bags=_both(ends, 1 / BAG_KG),
        drying_m2=drying,
        pickers=pickers,
        cash_minor=None if price is None else _both(ends, price),
    )


def _both(ends: tuple[float, float], rate: float) -> tuple[int, int]:
    low, high = (int(np.ceil(round(end * rate, 6))) for end in ends)
    return low, high
