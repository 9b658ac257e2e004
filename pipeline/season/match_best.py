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
    _, record = np.unique(edges.record, return_inverse=True)
    _, weighed = np.unique(edges.weighed, return_inverse=True)
    while len(left):
        ends, gain = (record[left], weighed[left]), edges.gain[left]
        sure = gain - _best_other(ends[0], gain) - _best_other(ends[1], gain) >= margin
        if not sure.any():
            break
        # An edge that gains more than the best others at both its ends together, by the margin, is
        # in the best pairing whatever the rest is: put back, it pushes out two at most.
        group[left[sure]] = SURE
        left = left[~(_has(ends[0], sure) | _has(ends[1], sure))]
    doubtful: Doubtful = {}
    if len(left):
        # Loading scipy takes a good part of a second, and most weeks have no knot.
        from pipeline.season.match_knots import knots, solve

        doubtful = solve(edges, knots(edges.where(left), left), margin, group)
    return Best(group, doubtful)


def _best_other(node: Whole, gain: Whole) -> Whole:
    """Return, for each edge, the greatest gain of another edge at the same node; 0 for none."""
    best, second = np.zeros((2, node.max() + 1), dtype=np.int64)
    np.maximum.at(best, node, gain)
    at_best = gain == best[node]
    np.maximum.at(second, node[~at_best], gain[~at_best])
    # Where several are the best, each has another as good.
    alone = at_best & (np.bincount(node[at_best], minlength=len(best))[node] == 1)
    return np.where(alone, second[node], best[node])


def _has(node: Whole, some: Truth) -> Truth:
    """Tell, for each edge, whether one of some edges is at the same node."""
    return (np.bincount(node, some) > 0)[node]
