"""The best one-to-one pairing of records and weighed deliveries, and which of its pairs are sure.

Best over all: the pairs whose gains add up to the most. A pair is sure where every other pairing
without it is worse by at least a margin. Most pairs are so much better than anything else at
either end that this shows at once, for whole columns; only knots of rows that compete are solved
one by one.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Whole = npt.NDArray[np.int64]
Truth = npt.NDArray[np.bool_]
Doubtful = dict[int, tuple[list[int], list[int]]]
SURE, NO_PAIR = -1, -2


@dataclass(frozen=True, slots=True)
class Edges:
    """Candidate pairs as equally long arrays; no pair of record and weighed delivery twice.

    `gain` is whole and above 0: what pairing the two is worth against leaving both alone.
    """

    record: Whole
    weighed: Whole
    gain: Whole

    def where(self, wanted: Truth | Whole) -> "Edges":
        """Return some of the edges."""
        return Edges(self.record[wanted], self.weighed[wanted], self.gain[wanted])


@dataclass(frozen=True, slots=True)
class Best:
    """The best pairing: `group` has one entry an edge.

    SURE: a pair that is settled. NO_PAIR: not in the pairing. Any other number: a pair that
    belongs to the group of that number, within which other pairings are about as good.
    `doubtful` gives the record and weighed numbers of each group, those without a pair included.
    """

    group: Whole
    doubtful: Doubtful


def best_pairs(edges: Edges, margin: int) -> Best:
    """Return the pairing of the greatest total gain; each record and weighing at most once.

    With equal totals the result follows the order of the numbers, and such pairs are never sure.
    """
    group = np.full(len(edges.gain), NO_PAIR, dtype=np.int64)
    left = np.arange(len(edges.gain), dtype=np.int64)
    while len(left):
        open_edges = edges.where(left)
        sure = _stand_out(open_edges, margin)
        if not sure.any():
            break
        group[left[sure]] = SURE
        gone = np.isin(open_edges.record, open_edges.record[sure]) | np.isin(
            open_edges.weighed, open_edges.weighed[sure]
        )
        left = left[~gone]
    doubtful: Doubtful = {}
    if len(left):
        # Loading scipy takes a good part of a second, and most weeks have no knot.
        from pipeline.season.match_knots import knots, solve

        doubtful = solve(edges, knots(edges.where(left), left), margin, group)
    return Best(group, doubtful)


def _stand_out(edges: Edges, margin: int) -> Truth:
    """Tell which edges gain more than the best others at both their ends together, by the margin.

    To go without such an edge costs at least the margin: put back, it pushes out two at most. So it
    is in the best pairing whatever the rest is, and sure.
    """
    others = _best_other(edges.record, edges.gain) + _best_other(edges.weighed, edges.gain)
    return edges.gain - others >= margin


def _best_other(node: Whole, gain: Whole) -> Whole:
    """Return, for each edge, the greatest gain of another edge at the same node; 0 for none."""
    order = np.lexsort((-gain, node))
    sorted_node, sorted_gain = node[order], gain[order]
    first = np.ones(len(node), dtype=np.bool_)
    first[1:] = sorted_node[1:] != sorted_node[:-1]
    start = np.flatnonzero(first)
    second = np.where(np.append(first[1:], True), 0, np.append(sorted_gain[1:], 0))[start]
    which = np.cumsum(first) - 1
    found = np.empty(len(node), dtype=np.int64)
    found[order] = np.where(first, second[which], sorted_gain[start][which])
    return found
