"""Heaps of coffee: how many grams lie where, and of whose coffee they are."""

from dataclasses import dataclass, field

from pipeline.coffee.events import Origin, Place
from pipeline.money import largest_remainder


@dataclass(slots=True)
class Heap:
    """Grams of coffee at one place, and the coffee taken in that they were made from.

    `origins` are grams as they were taken in: they stay the same while coffee dries or is hulled,
    and go with it in proportion where a heap is split.
    """

    grams: int = 0
    origins: dict[Origin, int] = field(default_factory=dict[Origin, int])

    def put(self, grams: int, origins: dict[Origin, int]) -> None:
        """Add coffee with what it was made from."""
        self.grams += grams
        if not self.origins:
            self.origins = dict(origins)
            return
        for origin, part in origins.items():
            self.origins[origin] = self.origins.get(origin, 0) + part

    def lift(self, grams: int, *, in_turn: bool) -> dict[Origin, int]:
        """Take grams out and return their origins; ValueError where there are not so many.

        `in_turn`: what came first goes first, as fresh cherry must; otherwise a part of all.
        """
        if not 0 <= grams <= self.grams:
            raise ValueError(f"{grams} g are asked of a heap of {self.grams} g.")
        if grams == self.grams:
            gone = self.origins
            self.origins, self.grams = {}, 0
            return gone
        share = sum(self.origins.values()) * grams // self.grams
        if in_turn:
            parts = _first(list(self.origins.values()), share)
        else:
            parts = largest_remainder(share, list(self.origins.values())) if share else []
        gone = {origin: part for origin, part in zip(self.origins, parts, strict=False) if part > 0}
        for origin, part in gone.items():
            self.origins[origin] -= part
            if not self.origins[origin]:
                del self.origins[origin]
        self.grams -= grams
        return gone


def _first(parts: list[int], grams: int) -> list[int]:
    taken: list[int] = []
    for part in parts:
        taken.append(min(part, grams))
        grams -= taken[-1]
    return taken


class Heaps(dict[Place, Heap]):
    """All heaps by place; one that nobody put coffee on is empty."""

    def __init__(self) -> None:
        super().__init__()
        # A season has thousands of lots, and each step asks for the places of a few.
        self._of_lot: dict[str, list[tuple[Place, Heap]]] = {}

    def __missing__(self, place: Place) -> Heap:
        heap = self[place] = Heap()
        self._of_lot.setdefault(place.lot_no, []).append((place, heap))
        return heap

    def of_lots(self, lots: tuple[str, ...], *, form: str = "") -> list[Place]:
        """Return the places where coffee of these lots lies, in order; `form` "" is any."""
        found = [
            place
            for lot in dict.fromkeys(lots)
            for place, heap in self._of_lot.get(lot, ())
            if heap.grams > 0 and (not form or form == place.form)
        ]
        found.sort()
        return found

    def in_store(self, station: str, species: str, form: str) -> list[Place]:
        """Return the places of one coffee at a station, or at any where it is ""."""
        return sorted(
            place
            for place, heap in self.items()
            if heap.grams > 0
            and station in ("", place.station)
            and (place.species, place.form) == (species, form)
        )

    def lying(self) -> dict[Place, tuple[int, dict[Origin, int]]]:
        """Return grams and origins of all heaps that are not empty, in order of their places."""
        # Of most places all coffee is gone again.
        places = sorted(place for place, heap in self.items() if heap.grams or heap.origins)
        return {place: (self[place].grams, dict(self[place].origins)) for place in places}
