"""Follows coffee from the scale to the sale, day by day, so that every gram is somewhere.

What a card, a sale or a count says is taken as it is where the coffee was there for it; a
difference is named (handling, loss, gain), never hidden. A row that cannot stand is set aside and
the rest goes on without it. In whole grams, so that everything adds up exactly.
"""

from collections.abc import Collection, Iterable, Sequence
from datetime import date
from itertools import groupby

from pipeline.coffee.events import (
    Aside,
    Bought,
    Counted,
    Halt,
    Held,
    Move,
    Origin,
    Place,
    Row,
    Sold,
    Step,
)
from pipeline.coffee.heaps import Heaps
from pipeline.coffee.order import Course, Loop
from pipeline.money import largest_remainder

LOOP = "loop"
SOURCE_EMPTY = "source-empty"
NOTHING_TAKEN_IN = "nothing-taken-in"
NOTHING_LEFT = "nothing-left"
NO_WEIGHT_IN = "no-weight-in"
WAITS = "waits"
NOT_DRIED = "not-dried"
TOO_MUCH = "more-than-stock"
UNKNOWN_SOURCE = "unknown-source"
# What a step takes off, in the order in which it is posted.
AWAY = ("water", "parts", "sorted", "handling", "loss")


class Walk:
    """One walk over a season's coffee; read `moves`, `asides` and `held()` when it is done.

    `forced`: rows that the manager counts as they are though the coffee was not there for them:
    what is missing is then a gain, named as such. `halt`: go on from there instead of from the
    beginning; what came before it is in none of the three.
    """

    def __init__(
        self, course: Course, forced: Collection[Row] = (), halt: Halt | None = None
    ) -> None:
        self.moves: list[Move] = []
        self.asides: list[Aside] = []
        self._course = course
        self._forced = frozenset(forced)
        self._heaps = Heaps()
        self._gone: list[Held] = []
        self._entered: set[str] = set()
        self._stopped: set[str] = set()
        self._wet: set[str] = set()
        self._next = 0
        for loop in course.loops:
            self._stop_loop(loop)
        if halt:
            self._next = course.first_on(halt.day)
            self._entered |= halt.entered
            self._stopped |= halt.stopped
            self._wet |= halt.wet
            for place, (grams, origins) in halt.heaps.items():
                self._heaps[place].put(grams, origins)
            self.asides = [aside for aside in self.asides if aside.day >= halt.day]

    def go(self, until: date | None = None) -> None:
        """Walk on through what happens before a day, or through all that is left."""
        events = self._course.events
        end = len(events) if until is None else self._course.first_on(until)
        for event in events[self._next : end]:
            match event:
                case Bought():
                    self._buy(event)
                case Step():
                    self._step(event)
                case Sold():
                    self._sell(event)
                case Counted():
                    self._count(event)
        self._next = end

    def halt(self, day: date) -> Halt:
        """Return how things stand, all that happens before a day being done."""
        lots = (self._entered, self._stopped, self._wet)
        return Halt(day, self._heaps.lying(), *(frozenset(which) for which in lots))

    def held(self) -> list[Held]:
        """Return all coffee ever taken in by who holds it now: stock, sales, or lost."""
        lying = self._heaps.lying().items()
        stock = [
            Held("stock", place, None, None, origins) for place, (_, origins) in lying if origins
        ]
        return [*stock, *self._gone]

    def _stop_loop(self, loop: Loop) -> None:
        self._stopped |= set(loop)
        for step in self._course.steps:
            if step.lot_no in loop and set(step.from_lots) & set(loop):
                self._aside(step, LOOP, " > ".join(loop), 0)

    def _aside(self, e: Step | Sold | Counted, why: str, about: str, there_g: int) -> None:
        self.asides.append(Aside(row=e.row, day=e.day, why=why, about=about, there_g=there_g))

    def _post(self, day: date, place: Place, what: str, grams: int, row: Row | None) -> None:
        if grams:
            self.moves.append(Move(day, place, what, grams, row))

    def _buy(self, e: Bought) -> None:
        self._post(e.day, e.place, "bought", e.grams, None)
        self._post(e.day, e.place, "returned", -e.returned_g, None)
        kept = e.grams - e.returned_g
        self._heaps[e.place].put(kept, {Origin(e.place, e.day): kept})

    def _open(self, e: Step) -> None:
        place = Place(e.station, e.species, e.form_after, e.lot_no)
        self._post(e.day, place, "opening", e.out_g, e.row)
        self._heaps[place].put(e.out_g, {Origin(place, None): e.out_g})
        self._entered.add(e.lot_no)

    def _step(self, e: Step) -> None:
        if e.lot_no in self._stopped:
            return
        if e.opens and not e.waits:
            self._open(e)
            return
        place = Place(e.station, e.species, e.form_before, e.lot_no)
        own = self._heaps.of_lots((e.lot_no,))
        why = self._why_not(e, place, own)
        if why and why != WAITS:
            about = ", ".join(e.from_lots) or e.station
            self._aside(e, why, about, sum(self._heaps[p].grams for p in own))
        if why and (why in (WAITS, NO_WEIGHT_IN) or e.row not in self._forced):
            self._stopped.add(e.lot_no)
            return
        for lot in e.from_lots:
            if lot not in self._course.known:
                self._aside(e, UNKNOWN_SOURCE, lot, 0)
        self._bring_together(e, place, own)
        self._work_on(e, place)
        self._entered.add(e.lot_no)
        if e.wets or self._wet & set(e.from_lots):
            self._wet.add(e.lot_no)
        if e.dries:
            self._wet.discard(e.lot_no)

    def _why_not(self, e: Step, place: Place, own: Iterable[Place]) -> str:
        """Return why a step cannot stand, or ""; `own`: where coffee of its lot lies."""
        if e.waits:
            return WAITS
        if e.in_g is None:
            return NO_WEIGHT_IN
        if any(there.form == e.form_before for there in own) or self._sources(e, place):
            return ""
        if e.from_lots:
            return SOURCE_EMPTY
        return NOTHING_LEFT if e.lot_no in self._entered else NOTHING_TAKEN_IN

    def _sources(self, e: Step, place: Place) -> list[Place]:
        """Return where more coffee for a lot comes from: its lots, or what lies in no lot."""
        if e.from_lots:
            found = self._heaps.of_lots(e.from_lots, form=e.form_before)
            return [source for source in found if source.species == e.species]
        if e.lot_no in self._entered or self._heaps.of_lots((e.lot_no,)):
            return []
        pool = place._replace(lot_no="")
        return [pool] if self._heaps[pool].grams > 0 else []

    def _bring_together(self, e: Step, place: Place, own: Iterable[Place]) -> None:
        """Bring to the lot, at its station, the grams that went into the step; name the rest.

        `own`: where coffee of the lot lies.
        """
        assert e.in_g is not None
        for other in own:
            if other.form == e.form_before and other.station != place.station:
                self._carry(e, other, place, self._heaps[other].grams)
        self._leave_behind(e, own)
        lacking = e.in_g - self._heaps[place].grams
        if lacking > 0:
            sources = self._sources(e, place)
            there = [self._heaps[source].grams for source in sources]
            wanted = min(lacking, sum(there))
            # A little less on the card than lay there: the heap was emptied, the rest got lost.
            if 0 < sum(there) - wanted <= sum(there) * e.handling_bp // 10000:
                wanted = sum(there)
            for source, part in zip(sources, _shares(wanted, there), strict=True):
                self._carry(e, source, place, part)
        over = self._heaps[place].grams - e.in_g
        if over < 0:
            self._post(e.day, place, "gain", -over, e.row)
            self._heaps[place].put(-over, {})
        elif 0 < over <= self._heaps[place].grams * e.handling_bp // 10000:
            self._lose(e, place, over, over)

    def _leave_behind(self, e: Step, own: Iterable[Place]) -> None:
        """Name as lost what of a lot lies in a form that its card has gone past."""
        for past in own:
            if past.form not in (e.form_before, e.form_after):
                grams = self._heaps[past].grams
                allowed = max(e.in_g or 0, grams) * e.handling_bp // 10000
                self._lose(e, past, grams, min(grams, allowed))

    def _lose(self, e: Step, place: Place, grams: int, in_handling: int) -> None:
        self._post(e.day, place, "handling", -in_handling, e.row)
        self._post(e.day, place, "loss", in_handling - grams, e.row)
        origins = self._heaps[place].lift(grams, in_turn=False)
        if origins:
            self._gone.append(Held("lost", place, e.day, e.row, origins))

    def _carry(self, e: Step, source: Place, place: Place, grams: int) -> None:
        what = "moved" if source.station != place.station else "drawn"
        self._post(e.day, source, what, -grams, e.row)
        self._post(e.day, place, what, grams, e.row)
        origins = self._heaps[source].lift(grams, in_turn=not source.lot_no)
        self._heaps[place].put(grams, origins)

    def _work_on(self, e: Step, place: Place) -> None:
        """Turn what went into the step into what came out of it."""
        assert e.in_g is not None
        away = e.water_g + e.parts_g + e.sorted_g + e.handling_g + e.loss_g - e.gain_g
        if e.in_g - away != e.out_g:
            raise ValueError(f"Lot {e.lot_no}, step {e.seq}: the difference is not all named.")
        named = (e.water_g, e.parts_g, e.sorted_g, e.handling_g, e.loss_g)
        for what, grams in zip(AWAY, named, strict=True):
            if grams:
                self._post(e.day, place, what, -grams, e.row)
        self._post(e.day, place, "gain", e.gain_g, e.row)
        after = Place(place.station, place.species, e.form_after, place.lot_no)
        if after != place:
            self._post(e.day, place, "processed", -e.out_g, e.row)
            self._post(e.day, after, "processed", e.out_g, e.row)
        origins = self._heaps[place].lift(e.in_g, in_turn=False)
        self._heaps[after].put(e.out_g, origins)

    def _sell(self, e: Sold) -> None:
        if e.lot_no:
            found = self._heaps.of_lots((e.lot_no,), form=e.form)
            places = [p for p in found if e.station in ("", p.station) and p.species == e.species]
        else:
            places = self._heaps.in_store(e.station, e.species, e.form)
        there = [self._heaps[place].grams for place in places]
        wet = e.lot_no in self._wet and e.form == "parchment"
        # Where no cards are kept, nobody can say what was made of the coffee.
        if self._course.steps and (wet or sum(there) < e.grams):
            self._aside(e, NOT_DRIED if wet else TOO_MUCH, e.lot_no or e.station, sum(there))
            if e.row not in self._forced:
                return
        if sum(there) < e.grams:
            home = places[0] if places else Place(e.station, e.species, e.form, e.lot_no)
            what = "gain" if self._course.steps else "uncarded"
            self._post(e.day, home, what, e.grams - sum(there), e.row)
            self._heaps[home].put(e.grams - sum(there), {})
            places = places or [home]
            there = [self._heaps[place].grams for place in places]
        for place, part in zip(places, _shares(e.grams, there), strict=True):
            self._post(e.day, place, "sold", -part, e.row)
            origins = self._heaps[place].lift(part, in_turn=not place.lot_no)
            if origins:
                self._gone.append(Held("sold", place, e.day, e.row, origins))

    def _count(self, e: Counted) -> None:
        found = self._heaps.of_lots((e.lot_no,), form=e.form)
        places = [place for place in found if place.station == e.station]
        there = [self._heaps[place].grams for place in places]
        if not sum(there):
            if e.grams:
                self._aside(e, NOTHING_LEFT, e.lot_no or e.station, 0)
            return
        for place, found in zip(places, _shares(e.grams, there), strict=True):
            heap = self._heaps[place]
            self._post(e.day, place, "gain", max(found - heap.grams, 0), e.row)
            self._post(e.day, place, "loss", min(found - heap.grams, 0), e.row)
            if found >= heap.grams:
                heap.put(found - heap.grams, {})
            else:
                origins = heap.lift(heap.grams - found, in_turn=False)
                self._gone.append(Held("lost", place, e.day, e.row, origins))


def _shares(grams: int, there: Sequence[int]) -> list[int]:
    return largest_remainder(grams, there) if sum(there) else [0] * len(there)


def balance(moves: Iterable[Move]) -> dict[Place, int]:
    """Return what lies at each place after all moves, in grams."""
    ordered = sorted(moves, key=lambda move: move.place)
    return {
        place: sum(move.grams for move in part)
        for place, part in groupby(ordered, key=lambda move: move.place)
    }
