"""The order in which things happen to coffee: lots that another is made from come before it."""

import hashlib
from bisect import bisect_left
from collections.abc import Collection, Iterable, Sequence
from datetime import date
from graphlib import CycleError, TopologicalSorter
from typing import NamedTuple

from pipeline.coffee.events import Bought, Counted, Row, Sold, Step

# Lots that are made from each other, each from the one after it; the first stands at both ends.
Loop = tuple[str, ...]


class Course(NamedTuple):
    """All that happens to a season's coffee, in its order.

    `known`: the lots that have a card, or coffee weighed in for them; `days`: those of `events`.
    """

    events: list[Bought | Step | Sold | Counted]
    days: list[date]
    steps: Sequence[Step]
    loops: list[Loop]
    known: frozenset[str]

    def first_on(self, day: date) -> int:
        """Return how many events come before a day."""
        return bisect_left(self.days, day)

    def before(self, day: date, forced: Collection[Row]) -> str:
        """Return a digest of all that a walk up to a day hangs on."""
        events = self.events[: self.first_on(day)]
        named = {lot for e in events if isinstance(e, Step) for lot in e.from_lots}
        what = (bool(self.steps), self.loops, sorted(named - self.known), sorted(forced))
        # Named tuples are slow to print: a place of its own is the only one within an event.
        plain = [
            (e.day, *e.place, e.grams, e.returned_g) if isinstance(e, Bought) else tuple(e)
            for e in events
        ]
        return hashlib.sha256(repr((what, plain)).encode()).hexdigest()


def in_order(
    bought: Iterable[Bought],
    steps: Sequence[Step],
    sold: Iterable[Sold],
    counted: Iterable[Counted],
) -> Course:
    """Put in order what happens: a day's coffee in, then lots, sales and counts of that day."""
    bought = list(bought)
    rank, loops = lots_in_order(steps)
    keyed: list[tuple[tuple[object, ...], Bought | Step | Sold | Counted]] = []
    keyed += [((e.day, 0 if e.opens else 2, rank[e.lot_no], e.seq), e) for e in steps]
    keyed += [((e.day, 1, *e.place), e) for e in bought]
    keyed += [((e.day, 3, *e.row), e) for e in sold]
    keyed += [((e.day, 4, *e.row), e) for e in counted]
    keyed.sort(key=lambda pair: pair[0])  # pyright: ignore[reportUnknownLambdaType, reportArgumentType]
    events = [event for _, event in keyed]
    known = {e.lot_no for e in steps} | {e.place.lot_no for e in bought}
    return Course(events, [e.day for e in events], steps, loops, frozenset(known))


def lots_in_order(steps: Sequence[Step]) -> tuple[dict[str, int], list[Loop]]:
    """Return each lot's place in the order, and the loops: lots that are made from themselves."""
    made_from: dict[str, set[str]] = {}
    for step in sorted(steps, key=lambda step: (step.lot_no, step.seq)):
        made_from.setdefault(step.lot_no, set()).update(step.from_lots)
    loops: list[Loop] = []
    while True:
        sorter: TopologicalSorter[str] = TopologicalSorter()
        for lot in sorted(made_from):
            sorter.add(lot, *sorted(made_from[lot]))
        try:
            order = list(sorter.static_order())
        except CycleError as error:
            # graphlib lists each lot before the one that is made from it.
            loop = tuple(reversed(error.args[1]))
            loops.append(loop)
            for lot in loop:
                made_from[lot] -= set(loop)
        else:
            return {lot: place for place, lot in enumerate(order)}, loops
