"""Knots of records and weighed deliveries that compete: the best pairing of each, and its doubts."""

from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.optimize import linear_sum_assignment
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components, floyd_warshall

from pipeline.season.match_best import SURE, Doubtful, Edges, Whole

# A knot of more rows than this is not solved: nobody could follow the answer.
MOST_ROWS = 400
# From so many rows on, scipy's compiled loop is quicker than a few steps of numpy.
FEW_ROWS = 16


def knots(edges: Edges, numbers: Whole) -> list[Whole]:
    """Return the numbers of edges apart for each set of rows that hang together."""
    records, record = np.unique(edges.record, return_inverse=True)
    weighed, weighing = np.unique(edges.weighed, return_inverse=True)
    size = len(records) + len(weighed)
    ends = (record, weighing + len(records))
    graph: Any = coo_array((np.ones(len(numbers), dtype=np.int8), ends), shape=(size, size))
    part: Whole = _parts(graph)[record]
    order = np.lexsort((edges.weighed, edges.record, part))
    cuts = np.flatnonzero(np.diff(part[order])) + 1
    return [numbers[knot] for knot in np.split(order, cuts)]


def solve(edges: Edges, knot: Whole, margin: int, group: Whole, doubtful: Doubtful) -> None:
    """Pair the rows of one knot, and note its sure pairs in `group`, its groups in both.

    `edges` are those of the knot, `knot` their places in `group`.
    """
    records, record = np.unique(edges.record, return_inverse=True)
    weighed, weighing = np.unique(edges.weighed, return_inverse=True)
    n, m = len(records), len(weighed)
    if n + m > MOST_ROWS:
        doubtful[int(knot[0])] = (records.tolist(), weighed.tolist())
        return
    # Rows: records, then one stand-in a weighing; columns: weighings, then one a record. A row that
    # gets a stand-in has no partner, which gains nothing.
    gains = np.zeros((n + m, m + n), dtype=np.int64)
    gains[record, weighing] = edges.gain
    chosen: Any = linear_sum_assignment(gains, maximize=True)[1]
    column: Whole = chosen.astype(np.int64)
    paired = column[record] == weighing
    loss, ring = _doubts(gains, column, n)
    group[knot[paired & (loss[record] >= margin)]] = SURE
    linked = ring < margin
    if not linked.any():
        return
    part = _parts(coo_array(linked))
    for own in np.unique(part[linked.any(axis=1)]):
        rows = np.flatnonzero(part == own)
        # No two groups of any knots get the same number.
        name = int(knot[0]) + len(group) * int(own)
        group[knot[np.isin(record, rows) & paired]] = name
        columns = column[rows]
        doubtful[name] = (
            records[rows[rows < n]].tolist(),
            weighed[columns[columns < m]].tolist(),
        )


def _parts(graph: Any) -> Whole:
    found: tuple[int, Any] = connected_components(graph, directed=False)
    return found[1].astype(np.int64)


def _doubts(
    gains: Whole, column: Whole, records: int
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Return what the total loses without each row's place, and where rows i and j change places.

    To move row i to the place of row j loses `step[i, j]`; another pairing is a ring of such moves,
    and the cheapest ring through a row is what going without its place costs.
    """
    size = len(column)
    own = gains[np.arange(size), column]
    step = (own[:, None] - gains[:, column]).astype(np.float64)
    # A stand-in in a stand-in's place changes nothing and would tie rows that have no doubt.
    idle = np.arange(size) >= records
    np.fill_diagonal(step, np.inf)
    step[idle[:, None] & idle[None, :]] = np.inf
    ring = step + _shortest(step).T
    return ring.min(axis=1), ring


def _shortest(step: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return the cheapest way from each row to each, over any others; no ring gains anything."""
    if len(step) >= FEW_ROWS:
        found: npt.NDArray[np.float64] = floyd_warshall(step)
        return found
    path = step.copy()
    np.fill_diagonal(path, 0)
    for via in range(len(path)):
        np.minimum(path, path[:, via, None] + path[None, via, :], out=path)
    return path
