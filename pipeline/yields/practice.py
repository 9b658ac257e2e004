"""Which practices are done where, and how those who do them fare beside those who do not."""

from dataclasses import dataclass

import duckdb
import polars as pl

from pipeline.yields.intervals import Difference, difference
from pipeline.yields.people import frame
from pipeline.yields.small import shown_as

PRACTICES = (
    "pruning",
    "stems",
    "mulch",
    "manure",
    "ripe_picking",
    "drying",
    "storage_off_floor",
    "soil_test",
    "shade",
    "erosion_bands",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """In one village, or None for those that are too small together: how many do a practice."""

    practice: str
    village: str | None
    known: int
    do: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """Those who do a practice beside those who do not, within the one species most of them grow.

    `yields`: kilograms of green a bearing tree; `quality`: share of the best price, percent. None
    where fewer than five are on either side.
    """

    practice: str
    species: str
    yields: Difference | None
    quality: Difference | None


def practices(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Return one row a member and practice that is known, as `sql/practice.sql` says."""
    return frame(con, "practice")


def done(known: pl.DataFrame, people: pl.DataFrame) -> list[Done]:
    """Return where each practice is done, in the order of PRACTICES and of the villages."""
    where = people.filter(pl.col("first")).select("member_no", "village")
    placed = known.join(where, on="member_no", how="inner")
    found: list[Done] = []
    for practice in PRACTICES:
        some = placed.filter(pl.col("practice") == practice)
        counts = some.group_by("village").len().sort("village")
        shown = shown_as(dict(counts.iter_rows()))
        totals: dict[str | None, list[int]] = {}
        for village, does in some.select("village", "does").sort("village").iter_rows():
            if village in shown:
                both = totals.setdefault(shown[village], [0, 0])
                both[0] += 1
                both[1] += bool(does)
        named = sorted(totals, key=lambda name: (name is None, name or ""))
        found += [
            Done(practice=practice, village=name, known=totals[name][0], do=totals[name][1])
            for name in named
        ]
    return found


def beside(known: pl.DataFrame, people: pl.DataFrame) -> list[Beside]:
    """Return how those who do each practice fare beside those who do not."""
    grown = people.filter(pl.col("per_tree_kg") > 0).select(
        "member_no",
        "species",
        "per_tree_kg",
        (100 * pl.col("priced_minor") / pl.col("best_minor")).alias("quality"),
    )
    found: list[Beside] = []
    for practice in PRACTICES:
        some = known.filter(pl.col("practice") == practice).join(grown, on="member_no")
        if some.is_empty():
            continue
        counts = some.group_by("species").len().sort("len", "species", descending=[True, False])
        species: str = counts["species"][0]
        some = some.filter(pl.col("species") == species)
        found.append(
            Beside(
                practice=practice,
                species=species,
                yields=_sides(some, "per_tree_kg"),
                quality=_sides(some, "quality"),
            )
        )
    return found


def _sides(some: pl.DataFrame, column: str) -> Difference | None:
    there = some.drop_nulls(column)
    do, do_not = there.filter(pl.col("does")), there.filter(~pl.col("does"))
    return difference(do[column].to_numpy(), do_not[column].to_numpy())
