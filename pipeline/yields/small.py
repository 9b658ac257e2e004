"""Groups that are large enough to be shown: the others are joined, so that no household shows."""

from collections.abc import Mapping

LEAST = 5
# What stands in a figure's code for the small groups together, and for a group without a name.
OTHERS, NONE = "-", "none"


def code_of(name: str | None) -> str:
    """Return what stands in a figure's code for a group: its name, or a mark where it has none."""
    return OTHERS if name is None else name or NONE


def shown_as(members: Mapping[str, int], least: int = LEAST) -> dict[str, str | None]:
    """Return for each group the name it is shown under: its own, or None for the others together.

    Groups under `least` members are joined; where they are still too few together, the smallest of
    the rest goes in with them, or it could be told from the sum. {"A": 9, "B": 6, "C": 2} gives A,
    None, None. Where even all together are too few, nothing may be shown: an empty answer.
    """
    if 0 < sum(members.values()) < least:
        return {}
    small = [name for name, count in members.items() if count < least]
    kept = sorted((count, name) for name, count in members.items() if count >= least)
    while small and kept and sum(members[name] for name in small) < least:
        small.append(kept.pop(0)[1])
    return {name: None if name in small else name for name in members}
