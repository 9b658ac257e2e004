"""What happens to coffee: taken in, worked on, sold, counted; weights in whole grams.

Named tuples: a season makes a hundred thousand of these, each in a third of a dataclass's time.
"""

from datetime import date
from typing import NamedTuple

# The kinds whose rows are followed, in the order in which they are checked.
FOLLOWED = ("lots", "sales", "store_checks")
# A row of a sheet: kind, sheet number, row number.
Row = tuple[str, int, int]


class Place(NamedTuple):
    """Where coffee lies: a station, in one form of one species, in a lot; "" is no lot."""

    station: str
    species: str
    form: str
    lot_no: str


class Origin(NamedTuple):
    """Coffee taken in on one day at one place; no day: it lay there when the book began."""

    place: Place
    day: date | None


class Bought(NamedTuple):
    """All coffee weighed in at a place on a day; `returned_g` of it went back to the members."""

    day: date
    place: Place
    grams: int
    returned_g: int = 0


class Step(NamedTuple):
    """One weighed step of a lot: a row of the table `lot_steps`, which names the difference.

    `in_g` is None where neither card nor scale says what went in. `wets`: the coffee is wet until
    it is dried. `waits`: a row of the card before it waits for the manager.
    """

    row: Row
    lot_no: str
    seq: int
    day: date
    station: str
    species: str
    form_before: str
    form_after: str
    from_lots: tuple[str, ...]
    in_g: int | None
    out_g: int
    water_g: int
    parts_g: int
    sorted_g: int
    handling_g: int
    loss_g: int
    gain_g: int
    handling_bp: int
    opens: bool = False
    wets: bool = False
    dries: bool = False
    waits: bool = False


class Sold(NamedTuple):
    """A line of a sale; without a lot it came from what lay in the station's store, "" is any."""

    row: Row
    day: date
    station: str
    species: str
    form: str
    lot_no: str
    grams: int


class Counted(NamedTuple):
    """What was found of one lot ("" is no lot) and form at a station when all of it was weighed."""

    row: Row
    day: date
    station: str
    form: str
    lot_no: str
    grams: int


class Move(NamedTuple):
    """Coffee into (+) or out of (-) a place; `what` as the table `coffee_moves` lists it."""

    day: date
    place: Place
    what: str
    grams: int
    row: Row | None


class Aside(NamedTuple):
    """A row that cannot stand: why, about what (lots or a station), and the grams there were."""

    row: Row
    day: date
    why: str
    about: str
    there_g: int


class Held(NamedTuple):
    """Coffee that somebody holds, by where it was taken in: "stock", "sold" or "lost".

    `day`: when it was sold or lost.
    """

    holder: str
    place: Place
    day: date | None
    row: Row | None
    origins: dict[Origin, int]


class Halt(NamedTuple):
    """How coffee stands when all is done that happens before a day, to go on from there.

    `heaps`: grams and origins by place, none that is empty. Lots: `entered` are those of which a
    step was done, `stopped` those of which none will be, `wet` those that are not dried yet.
    """

    day: date
    heaps: dict[Place, tuple[int, dict[Origin, int]]]
    entered: frozenset[str]
    stopped: frozenset[str]
    wet: frozenset[str]
