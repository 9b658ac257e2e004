"""The order in which lots are worked out: those that another is made from come before it."""

from collections.abc import Sequence
from graphlib import CycleError, TopologicalSorter

from pipeline.coffee.events import Step

# Lots that are made from each other, each from the one after it; the first stands at both ends.
Loop = tuple[str, ...]


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
