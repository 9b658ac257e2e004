"""Knots of records and weighed deliveries that compete: the best pairing, and its doubts."""

from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_array, csgraph

from pipeline.season.match_best import SURE, Doubtful, Edges, Truth, Whole

# A knot of more rows than this is not solved: nobody could follow the answer.
MOST_ROWS = 400


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


def solve(edges: Edges, found: list[Whole], margin: int, group: Whole) -> Doubtful:
    """Pair the rows of each knot; note the pairs in `group`, and return the groups in doubt.

    `found` holds the places of each knot's edges in `edges` and in `group`.
    """
    rows: list[tuple[Whole, Whole, Whole, Whole]] = []
    links: list[Whole] = []
    doubtful: Doubtful = {}
    solved: list[tuple[Whole, Edges, Whole, Whole, Whole, Whole]] = []
    for knot in found:
        here = edges.where(knot)
        records, record = np.unique(here.record, return_inverse=True)
        weighed, weighing = np.unique(here.weighed, return_inverse=True)
        if len(records) + len(weighed) > MOST_ROWS:
            # Below any number that a group can have.
            doubtful[-3 - int(knot[0])] = (records.tolist(), weighed.tolist())
        else:
            solved.append((knot, here, records, record, weighed, weighing))
    if not solved:
        return doubtful
    chosen = _chosen(edges, np.concatenate([knot for knot, *_ in solved]))
    start = 0
    for knot, here, records, record, weighed, weighing in solved:
        n, m = len(records), len(weighed)
        paired = chosen[knot]
        column = _columns(record[paired], weighing[paired], n, m)
        # Rows: records, then one stand-in a weighing; columns: weighings, then one a record. A row
        # that gets a stand-in has no partner, which gains nothing.
        gains = np.zeros((n + m, m + n), dtype=np.int64)
        gains[record, weighing] = here.gain
        ring = _doubts(gains, column, n)
        group[knot[paired & (ring.min(axis=1)[record] >= margin)]] = SURE
        linked = np.argwhere(ring < margin)
        if len(linked):
            links.append(linked + start)
            place = np.full(n + m, -1, dtype=np.int64)
            place[record[paired]] = knot[paired]
            rows.append(
                (
                    np.arange(start, start + n + m),
                    place,
                    np.append(records, np.full(m, -1)),
                    np.append(weighed, np.full(n, -1))[column],
                )
            )
            start += n + m
    if rows:
        _note_groups(rows, np.concatenate(links), group, doubtful)
    return doubtful


def _chosen(edges: Edges, numbers: Whole) -> Truth:
    """Tell which edges the best pairing of all knots holds, of those with these numbers.

    A row without a partner gets a stand-in of its own, and the stand-ins of a pair get each other:
    so a pairing of every row and column is there, and the dearest edges are the cheapest of it.
    """
    here = edges.where(numbers)
    records, record = np.unique(here.record, return_inverse=True)
    weighed, weighing = np.unique(here.weighed, return_inverse=True)
    n, m = len(records), len(weighed)
    nothing = int(here.gain.max()) + 1
    row = np.concatenate([record, np.arange(n), n + np.arange(m), n + weighing])
    column = np.concatenate([weighing, m + np.arange(n), np.arange(m), m + record])
    cost = np.full(len(row), nothing, dtype=np.int64)
    cost[: len(record)] -= here.gain
    graph: Any = coo_array((cost, (row, column)), shape=(n + m, n + m)).tocsr()
    found = np.asarray(csgraph.min_weight_full_bipartite_matching(graph)[1], dtype=np.int64)
    chosen = np.zeros(len(edges.gain), dtype=np.bool_)
    chosen[numbers] = found[record] == weighing
    return chosen


def _columns(record: Whole, weighing: Whole, n: int, m: int) -> Whole:
    """Return the column of each row of a knot: its partner, or a stand-in."""
    column = np.append(m + np.arange(n), np.arange(m))
    column[record] = weighing
    column[n + weighing] = m + record
    return column


def _note_groups(
    rows: list[tuple[Whole, Whole, Whole, Whole]],
    links: Whole,
    group: Whole,
    doubtful: Doubtful,
) -> None:
    """Give the rows that may change places the number of their group."""
    number, place, record, weighing = (np.concatenate(part) for part in zip(*rows, strict=True))
    size = len(number)
    graph: Any = coo_array((np.ones(len(links), dtype=np.int8), links.T), shape=(size, size))
    part = _parts(graph)
    in_doubt = np.isin(number, links[:, 0])
    for row in np.flatnonzero(in_doubt):
        records, weighings = doubtful.setdefault(int(part[row]), ([], []))
        if place[row] >= 0:
            group[place[row]] = part[row]
        if record[row] >= 0:
            records.append(int(record[row]))
        if weighing[row] >= 0:
            weighings.append(int(weighing[row]))


def _parts(graph: Any) -> Whole:
    return np.asarray(csgraph.connected_components(graph, directed=False)[1], dtype=np.int64)


def _doubts(gains: Whole, column: Whole, records: int) -> npt.NDArray[np.float64]:
    """Return the least that the total loses where row i gets the place of row j.

    The move itself loses `step[i, j]`; others must move on, until one takes the place of row i.
    The least of a row is what going without its place costs.
    """
    size = len(column)
    own = gains[np.arange(size), column]
    step = (own[:, None] - gains[:, column]).astype(np.float64)
    # A stand-in in a stand-in's place changes nothing and would tie rows that have no doubt.
    idle = np.arange(size) >= records
    np.fill_diagonal(step, np.inf)
    step[idle[:, None] & idle[None, :]] = np.inf
    return step + _shortest(step).T


def _shortest(step: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return the cheapest way from each row to each, over any others; no ring gains anything.

    Floyd and Warshall's way. scipy's own goes on in silence with an array laid out by columns.
    """
    path = step.copy()
    np.fill_diagonal(path, 0)
    for via in range(len(path)):
        np.minimum(path, path[:, via, None] + path[None, via, :], out=path)
    return path
