"""The best pairing against every pairing there is, on small sets, in any order."""

from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.season import match_knots
from pipeline.season.match_best import NO_PAIR, SURE, Best, Edges, best_pairs

Edge = tuple[int, int, int]
MARGIN = 4


@st.composite
def _edges(draw: st.DrawFn, most: int) -> list[Edge]:
    records, weighed = draw(st.integers(1, most)), draw(st.integers(1, most))
    ends = st.tuples(st.integers(0, records - 1), st.integers(0, weighed - 1))
    # Gains near the margin and each other, so that there are ties and doubts.
    gain = st.sampled_from([1, 2, 3, 4, 5, 8, 9, 12, 13, 20])
    return [(*end, draw(gain)) for end in draw(st.lists(ends, unique=True, max_size=14))]


def _best(edges: list[Edge]) -> Best:
    columns = np.array(edges, dtype=np.int64).reshape(-1, 3).T
    return best_pairs(Edges(*columns), MARGIN)


def _pairs(edges: list[Edge]) -> dict[tuple[int, int], int]:
    """The pairs of the best pairing, each with its group."""
    groups = _best(edges).group
    return {e[:2]: int(g) for e, g in zip(edges, groups, strict=True) if g != NO_PAIR}


def _most(edges: list[Edge]) -> int:
    """The greatest total gain of any pairing, by trying them all."""
    if not edges:
        return 0
    (record, weighed, gain), *rest = edges
    apart = [e for e in rest if e[0] != record and e[1] != weighed]
    return max(_most(rest), gain + _most(apart))


@given(_edges(5))
@settings(max_examples=300, deadline=None)
def test_no_pairing_gains_more_and_none_uses_a_row_twice(edges: list[Edge]) -> None:
    pairs = _pairs(edges)
    assert len({record for record, _ in pairs}) == len(pairs) == len({w for _, w in pairs})
    assert sum(gain for r, w, gain in edges if (r, w) in pairs) == _most(edges)


@given(_edges(4))
@settings(max_examples=300, deadline=None)
def test_a_pair_is_sure_just_where_every_pairing_without_it_is_worse_by_the_margin(
    edges: list[Edge],
) -> None:
    most = _most(edges)
    for pair, group in _pairs(edges).items():
        without = _most([edge for edge in edges if edge[:2] != pair])
        assert (group == SURE) == (most - without >= MARGIN), pair


@given(_edges(6), st.randoms(use_true_random=False))
@settings(max_examples=200, deadline=None)
def test_sure_pairs_do_not_depend_on_the_order_of_edges_or_rows(
    edges: list[Edge], random: Random
) -> None:
    sure = {pair for pair, group in _pairs(edges).items() if group == SURE}
    mixed = edges.copy()
    random.shuffle(mixed)
    assert {pair for pair, group in _pairs(mixed).items() if group == SURE} == sure
    # The same rows under numbers that run the other way.
    turned = [(10 - record, 10 - weighed, gain) for record, weighed, gain in edges]
    assert {
        (10 - record, 10 - weighed)
        for (record, weighed), group in _pairs(turned).items()
        if group == SURE
    } == sure


@given(_edges(5))
@settings(max_examples=200, deadline=None)
def test_every_doubtful_pair_is_in_the_group_that_names_its_rows(edges: list[Edge]) -> None:
    best = _best(edges)
    for (record, weighed, _), group in zip(edges, best.group, strict=True):
        if group not in (SURE, NO_PAIR):
            records, weighings = best.doubtful[int(group)]
            assert record in records and weighed in weighings


def test_a_large_knot_is_solved_as_well_as_small_ones() -> None:
    # Record n fits weighing n best and its neighbours almost as well: one knot of forty rows.
    edges = [(n, n + by, 10 - 3 * abs(by)) for n in range(20) for by in (-1, 0, 1)]
    edges = [edge for edge in edges if 0 <= edge[1] < 20]
    best = _best(edges)
    kept = {e[:2]: int(g) for e, g in zip(edges, best.group, strict=True) if g != NO_PAIR}
    # Two neighbours that change partners lose 6 together, more than the margin.
    assert kept == {(n, n): SURE for n in range(20)}


def test_two_by_two_alike_are_one_group_and_no_others_are_drawn_in() -> None:
    best = _best([(0, 0, 9), (0, 1, 9), (1, 0, 9), (1, 1, 9), (1, 2, 2), (5, 5, 9)])
    assert list(best.doubtful.values()) == [([0, 1], [0, 1])]
    assert best.group[5] == SURE


def test_a_knot_that_nobody_could_follow_is_left_to_a_person(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(match_knots, "MOST_ROWS", 3)
    best = _best([(0, 0, 9), (0, 1, 9), (1, 0, 9), (1, 1, 9), (7, 7, 9)])
    assert list(best.group) == [NO_PAIR] * 4 + [SURE]
    assert list(best.doubtful.values()) == [([0, 1], [0, 1])]
