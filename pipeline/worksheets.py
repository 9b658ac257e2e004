"""Several worksheets of a workbook that speak for the same: each is a sheet of its own."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

from pipeline.intake.speaks import Sheet
from pipeline.season.kept_sheets import KeptSheet

BETWEEN = "|"


def worksheets_apart(
    places: Mapping[int, tuple[str, str, str]],
    spoken: Mapping[int, Sheet],
    before: Sequence[KeptSheet],
) -> dict[int, Sheet]:
    """Return what sheets speak for, worksheets of one workbook told apart by their names.

    `places`: file, part and worksheet ("" for text) of each sheet, in the order of their arrival.
    A worksheet takes the slot of the earlier one of its name, so that a corrected workbook takes
    the place of its worksheets one by one.
    """
    if not any(worksheet for _, _, worksheet in places.values()):
        return {}
    alike = Counter(_workbook(place, spoken[n]) for n, place in places.items() if n in spoken)
    slots: dict[tuple[str, str], str] = {}
    for sheet in before:
        _keep(slots, sheet.entry["slot"], sheet.part.rpartition(" / ")[2])
    found: dict[int, Sheet] = {}
    for n, place in sorted(places.items()):
        worksheet = place[2]
        if n not in spoken or not worksheet or not spoken[n].slot:
            continue
        slot = spoken[n].slot
        earlier = slots.get((slot, worksheet))
        if earlier is None and alike[_workbook(place, spoken[n])] > 1:
            earlier = f"{slot}{BETWEEN}{worksheet}"
        found[n] = replace(spoken[n], slot=earlier or slot)
        _keep(slots, found[n].slot, worksheet)
    return found


def _workbook(place: tuple[str, str, str], sheet: Sheet) -> tuple[str, str, str]:
    file, part, worksheet = place
    return file, part.removesuffix(worksheet) if worksheet else part, sheet.slot


def _keep(slots: dict[tuple[str, str], str], slot: str, worksheet: str) -> None:
    """Note the slot of a worksheet under what it speaks for, with and without its own name."""
    if slot and worksheet:
        slots[slot, worksheet] = slot
        slots[slot.removesuffix(f"{BETWEEN}{worksheet}"), worksheet] = slot
