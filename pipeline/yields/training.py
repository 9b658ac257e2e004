"""Which training to give where: whom it would reach, and what it may be worth, or "cannot tell".

Worth is judged by differences in differences: the outcome of members trained in the first half of
this season changed from the last season by so much more than that of members not yet trained. Both
groups may differ in other ways; the range is no promise.
"""

import datetime as dt
from dataclasses import dataclass

import duckdb
import polars as pl

from pipeline.season.tables import rows
from pipeline.yields.intervals import Difference, difference
from pipeline.yields.people import frame
from pipeline.yields.small import LEAST

# Topic of a training -> the practices it is about, and the outcome it should move.
TOPICS: dict[str, tuple[tuple[str, ...], str]] = {
    "pruning": (("pruning", "stems"), "per_tree"),
    "mulching": (("mulch", "erosion_bands"), "per_tree"),
    "soil": (("manure", "soil_test"), "per_tree"),
    "picking": (("ripe_picking",), "quality"),
    "drying": (("drying",), "quality"),
    "storage": (("storage_off_floor",), "quality"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """What a topic's training moved, where that can be judged; `effect` None: too few to say.

    `effect` is in kilograms of green a bearing tree, or in points of the share of the best price.
    """

    topic: str
    outcome: str
    effect: Difference | None

    @property
    def can_tell(self) -> bool:
        """Whether there is an effect that is surely above or below nought."""
        return self.effect is not None and self.effect.can_tell


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposed:
    """A training for a village: members known not to do it, yet to be trained in it.

    `low_minor`, `high_minor`: what it may be worth to all of them in a season, minor units; None
    where that cannot be told. `known`: members of whom it is known whether they do.
    """

    village: str
    topic: str
    reach: int
    known: int
    low_minor: int | None
    high_minor: int | None


def worths(con: duckdb.DuckDBPyConnection, people: pl.DataFrame) -> dict[str, Worth]:
    """Return for each topic what training in it moved since the last season."""
    first, last = rows(con, "select first_day, last_day from season_days")[0]
    middle: dt.date = first + (last - first) / 2
    trained = frame(con, "trained")
    moved = (
        people.filter(pl.col("per_tree_kg") > 0)
        .join(frame(con, "before"), on=["member_no", "species"], how="inner")
        .filter(pl.col("first"))
        .select(
            "member_no",
            (pl.col("per_tree_kg") - pl.col("per_tree_before")).alias("per_tree"),
            (
                100 * pl.col("priced_minor") / pl.col("best_minor") - 100 * pl.col("quality_before")
            ).alias("quality"),
        )
    )
    found: dict[str, Worth] = {}
    for topic, (_, outcome) in TOPICS.items():
        came = trained.filter(pl.col("topic") == topic)
        early = came.filter(pl.col("first_day") <= middle)["member_no"].implode()
        ever = came["member_no"].implode()
        there = moved.drop_nulls(outcome)
        yes = there.filter(pl.col("member_no").is_in(early))[outcome].to_numpy()
        no = there.filter(~pl.col("member_no").is_in(ever))[outcome].to_numpy()
        found[topic] = Worth(topic=topic, outcome=outcome, effect=difference(yes, no))
    return found


def proposed(
    known: pl.DataFrame,
    people: pl.DataFrame,
    trained: pl.DataFrame,
    worth: dict[str, Worth],
) -> list[Proposed]:
    """Return each village's trainings, those surely worth most first, then by whom they reach.

    Trainings that would reach fewer than five members are left out: one household would show.
    """
    each = people.filter(pl.col("first")).select(
        "member_no", "village", "trees_bearing", "gbe_kg", "priced_minor", "best_minor"
    )
    found: list[Proposed] = []
    for topic, (about, _) in TOPICS.items():
        came = trained.filter(pl.col("topic") == topic)["member_no"].implode()
        some = (
            known.filter(pl.col("practice").is_in(about))
            .group_by("member_no")
            .agg(pl.col("does").all().alias("does"))
            .join(each, on="member_no", how="inner")
            .with_columns(
                (~pl.col("does") & ~pl.col("member_no").is_in(came)).alias("reached"),
            )
        )
        for (village,), here in some.group_by("village", maintain_order=True):
            reached = here.filter(pl.col("reached"))
            if reached.height < LEAST:
                continue
            low, high = _worth(reached, worth.get(topic))
            found.append(
                Proposed(
                    village=str(village),
                    topic=topic,
                    reach=reached.height,
                    known=here.height,
                    low_minor=low,
                    high_minor=high,
                )
            )
    return sorted(
        found, key=lambda p: (p.village, -(p.low_minor or 0), -p.reach, list(TOPICS).index(p.topic))
    )


def _worth(reached: pl.DataFrame, worth: Worth | None) -> tuple[int | None, int | None]:
    """Return the range of what an effect comes to for the members it would reach, minor units."""
    if worth is None or worth.effect is None or not worth.can_tell or worth.effect.low <= 0:
        return None, None
    best = int(reached["best_minor"].fill_null(0).sum())
    if worth.outcome == "quality":
        return round(worth.effect.low * best / 100), round(worth.effect.high * best / 100)
    priced = reached.filter(pl.col("gbe_kg") > 0)
    kg = float(priced["gbe_kg"].sum())
    if kg <= 0:
        return None, None
    value = int(reached["priced_minor"].fill_null(0).sum())
    trees = int(reached["trees_bearing"].fill_null(0).sum())
    return (
        round(worth.effect.low * trees * value / kg),
        round(worth.effect.high * trees * value / kg),
    )
