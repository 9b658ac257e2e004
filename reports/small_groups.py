"""Joins cells of too few members, so that no table shows one household's figures."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from reports.facts import Row

LEAST = 5


def joined(
    cells: Sequence[Row],
    *,
    join: Callable[[list[Row]], Row],
    members: Callable[[list[Row]], int],
    least: int = LEAST,
) -> list[Row]:
    """The cells in their order, those under `least` members joined into one at the end.

    Where the small ones together are still too few, the smallest of the others goes in with
    them, or the sum and the others would give them away. Nothing is lost: sums stay the same.
    """
    kept = [cell for cell in cells if cell["members"] >= least]
    small = [cell for cell in cells if cell["members"] < least]
    while small and kept and members(small) < least:
        smallest = min(kept, key=lambda cell: cell["members"])
        kept.remove(smallest)
        small.append(smallest)
    return [*kept, join(small)] if small else kept


def disjoint(cells: list[Row]) -> int:
    """Members of cells that share none: 3 and 4 make 7."""
    return sum(cell["members"] for cell in cells)


def overlapping(cells: list[Row]) -> int:
    """The fewest members that cells which may share some can hold: 3 and 4 make 4."""
    return max(cell["members"] for cell in cells)
