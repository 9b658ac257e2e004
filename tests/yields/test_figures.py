"""Spreads, parted incomes, intervals and the crop estimate, beside scipy, numpy and by hand."""

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from pipeline.trial.crop import TUNED_ON, measure_crop
from pipeline.trial.intervals import measure_intervals
from pipeline.yields.intervals import difference
from pipeline.yields.parts import Crop, parted
from pipeline.yields.practice import beside, done
from pipeline.yields.small import shown_as
from pipeline.yields.spread import yield_spreads
from pipeline.yields.training import Worth, proposed


def grown(villages: dict[str, int]) -> pl.DataFrame:
    """A register of members with yields of 0.1, 0.2, 0.3 ... kg a tree."""
    rows = [
        {"member_no": f"{village}{n}", "village": village, "per_tree_kg": 0.1 * (n + 1)}
        for village, count in villages.items()
        for n in range(count)
    ]
    return pl.DataFrame(rows).with_columns(
        pl.lit("arabica").alias("species"),
        pl.lit("KES").alias("station"),
        pl.lit("").alias("certificate"),
        pl.lit("under 0.5").alias("size_class"),
        pl.lit(True).alias("first"),
        pl.lit(None, pl.Float64).alias("per_ha_kg"),
        pl.lit(400).alias("trees_bearing"),
        pl.lit(100.0).alias("gbe_kg"),
        pl.lit(30_000).alias("priced_minor"),
        pl.lit(32_000).alias("best_minor"),
    )


def test_quartiles_are_those_of_numpy_and_scipy() -> None:
    found = {one.name: one for one in yield_spreads(grown({"A": 9, "B": 6})) if one.by == "village"}
    for name, count in (("A", 9), ("B", 6)):
        values = 0.1 * np.arange(1, count + 1)
        mine = (found[name].lower, found[name].middle, found[name].upper)
        assert np.allclose(mine, np.quantile(values, [0.25, 0.5, 0.75]))
        assert mine[1] == pytest.approx(float(stats.quantile(values, 0.5)))


def test_small_villages_are_joined_and_never_told_by_the_rest() -> None:
    found = [one for one in yield_spreads(grown({"A": 9, "B": 6, "C": 2})) if one.by == "village"]
    assert [(one.name, one.members) for one in found] == [("A", 9), (None, 8)]
    assert yield_spreads(grown({"C": 4})) == []


@given(st.dictionaries(st.text("abcdef", min_size=1, max_size=3), st.integers(1, 12), max_size=9))
def test_no_group_that_is_shown_has_fewer_than_five(members: dict[str, int]) -> None:
    shown = shown_as(members)
    sums: dict[str | None, int] = {}
    for name, under in shown.items():
        sums[under] = sums.get(under, 0) + members[name]
    assert all(count >= 5 for count in sums.values())
    assert sum(sums.values()) in (0, sum(members.values()))


@settings(max_examples=60)
@given(
    st.tuples(*[st.integers(1, 10**7)] * 3, st.integers(0, 10**6)),
    st.tuples(*[st.integers(1, 10**7)] * 3, st.integers(0, 10**6)),
)
def test_parts_of_a_change_add_up_to_the_coin(
    one: tuple[int, int, int, int], other: tuple[int, int, int, int]
) -> None:
    before, after = (
        Crop(trees=t, kg=kg / 3, best_minor=best, value_minor=max(1, best - 7), other_minor=rest)
        for t, kg, best, rest in (one, other)
    )
    parts = parted(before, after)
    assert parts is not None
    assert parts.difference == (
        parts.trees + parts.yield_ + parts.price + parts.quality + parts.other
    )
    assert parts.difference == (
        after.value_minor + after.other_minor - before.value_minor - before.other_minor
    )


def test_a_change_of_one_factor_is_all_of_that_factor() -> None:
    before = Crop(trees=100, kg=50, best_minor=20_000, value_minor=18_000)
    twice = parted(before, Crop(trees=100, kg=100, best_minor=40_000, value_minor=36_000))
    assert twice is not None and (twice.yield_, twice.price, twice.quality) == (18_000, 0, 0)
    dearer = parted(before, Crop(trees=100, kg=50, best_minor=30_000, value_minor=27_000))
    assert dearer is not None and (dearer.yield_, dearer.price) == (0, 9_000)
    poorer = parted(before, Crop(trees=100, kg=50, best_minor=20_000, value_minor=16_000))
    assert poorer is not None and (poorer.price, poorer.quality) == (0, -2_000)
    assert parted(before, Crop(trees=0, kg=0, best_minor=0, value_minor=0)) is None


def test_a_large_difference_has_the_interval_of_scipy() -> None:
    drawn = np.random.default_rng(5)
    one, other = drawn.normal(0.5, 0.1, 300), drawn.normal(0.4, 0.2, 250)
    found = difference(one, other)
    assert found is not None and found.by == "Welch" and found.can_tell
    welch = stats.ttest_ind(one, other, equal_var=False).confidence_interval(0.95)
    assert (found.low, found.high) == pytest.approx(tuple(welch))


def test_few_members_tell_nothing_and_the_same_members_the_same() -> None:
    drawn = np.random.default_rng(6)
    one, other = drawn.normal(0.5, 0.1, 12), drawn.normal(0.45, 0.1, 9)
    assert difference(one[:4], other) is None
    first, again = difference(one, other), difference(one[::-1], other)
    assert first == again and first is not None and first.by == "bootstrap"
    assert not first.can_tell


def test_who_does_it_beside_who_does_not() -> None:
    people = grown({"A": 10, "B": 7})
    known = people.select("member_no", pl.lit("mulch").alias("practice")).with_columns(
        (people["per_tree_kg"] > 0.5).alias("does")
    )
    where = {one.village: (one.do, one.known) for one in done(known, people)}
    assert where == {"A": (5, 10), "B": (2, 7)}
    (mulch,) = beside(known, people)
    assert mulch.yields is not None and mulch.yields.can_tell
    assert mulch.yields.first == pytest.approx(np.mean([0.6, 0.7, 0.8, 0.9, 1.0, 0.6, 0.7]))


def test_training_reaches_who_does_not_do_it_and_tells_worth_only_where_it_can() -> None:
    people = grown({"A": 10, "B": 7})
    known = people.select(
        "member_no", pl.lit("mulch").alias("practice"), pl.lit(False).alias("does")
    )
    came = pl.DataFrame({"member_no": ["A0", "A1", "B0", "B1", "B2"], "topic": "mulching"})
    apart = difference(np.linspace(0.1, 0.2, 9), np.linspace(-0.05, 0.05, 9))
    for effect in (None, apart):
        worth = {"mulching": Worth(topic="mulching", outcome="per_tree", effect=effect)}
        (one,) = proposed(known, people, came, worth)
        assert (one.village, one.topic, one.reach, one.known) == ("A", "mulching", 8, 10)
        if effect is None:
            assert one.low_minor is None
        else:
            # 8 members of 400 trees each, at 300 minor units a kilogram.
            assert one.low_minor == round(effect.low * 8 * 400 * 300)


def test_a_small_trial_of_the_intervals_covers_about_as_it_should() -> None:
    found = measure_intervals(160, 7)
    assert 0.88 <= found.coverage_95 <= 1
    assert found == measure_intervals(160, 7)


@pytest.mark.long
def test_the_crop_estimate_is_nearer_than_last_year_and_holds_the_truth() -> None:
    seeds = range(1001, 1031)
    assert not set(seeds) & set(TUNED_ON)
    found = measure_crop(seeds)
    assert found.gain_over_last_year >= 0.30
    assert 0.75 <= found.coverage_80 <= 0.85
    assert all(0.7 <= held <= 0.9 for _, held in found.by_day.values())
    gains = [gain for gain, _ in found.by_day.values()]
    # After a quarter of the days an early crop is in and the main one not begun: what is in then
    # tells as much as at mid-season, when the main crop's days matter most.
    assert gains[0] == min(gains) and gains[-1] == max(gains)


def test_one_drawn_season_is_estimated_through_the_tables() -> None:
    found = measure_crop([901])
    assert found.stations == 8 and found.gain_over_last_year > 0
