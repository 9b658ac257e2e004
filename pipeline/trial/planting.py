"""How known faults are planted in an honest season: which rows they take and what they explain."""

from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from pipeline.samples.draws import Draws
from pipeline.trial.honest import Row, Season, price_cents

# How often a fault is tried again where the drawn row does not suit after all.
TRIES = 8

Place = tuple[str, int]
"""A row of a season: its kind of sheet and its `_id` there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Planted:
    """One fault as it was planted.

    `rows`: the rows at fault; of a fault of a `group`, all rows of that station and recorder,
    scale or member, and where a rule may speak of the group elsewhere, those too. `beside`: other
    rows whose flags it explains. `cents`: the money of the rows at fault, 0 where there is none;
    `week`: in whose sheet it stands. `traced`: whether it leaves a trace in these data: a member's
    record, a lot's card, an earlier count, or what is impossible; without one nothing can find it.
    """

    kind: str
    rows: frozenset[Place]
    beside: frozenset[Place] = frozenset()
    group: bool = False
    cents: int = 0
    week: int = -1
    traced: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """A kind of fault: its class, what plants one, and how many a season of 600 members has.

    `cannot`: why it, or some of it, cannot be found from these data.
    """

    kind: str
    of: str
    plant: Callable[["Planting", str], None]
    a_season: int = 3
    cannot: str = ""


class NoRowLeft(Exception):
    """No row suits a fault any more: the season is too small for another of its kind."""


@dataclass(slots=True)
class Planting:
    """The season that faults are planted in, and what was planted so far."""

    season: Season
    draws: Draws
    planted: list[Planted] = field(default_factory=list[Planted])
    taken: set[Place] = field(default_factory=set[Place])
    texts: dict[tuple[str, int, str], str] = field(default_factory=dict[tuple[str, int, str], str])
    gone: set[Place] = field(default_factory=set[Place])
    _of_receipt: dict[str, list[Place]] = field(default_factory=dict[str, list[Place]])
    _of_member: dict[tuple[str, Any], list[Place]] = field(
        default_factory=dict[tuple[str, Any], list[Place]]
    )
    _of_station: dict[str, list[Place]] = field(default_factory=dict[str, list[Place]])

    def __post_init__(self) -> None:
        for kind, rows in self.season.rows.items():
            for row in rows:
                self._index(kind, row)

    def _index(self, kind: str, row: Row) -> None:
        place = (kind, row["_id"])
        if row.get("_receipt"):
            self._of_receipt.setdefault(row["_receipt"], []).append(place)
        if row.get("_member") is not None:
            self._of_member.setdefault((kind, row["_member"]), []).append(place)
        if kind in ("lots", "sales"):
            self._of_station.setdefault(row["_of"], []).append(place)

    def row(self, place: Place) -> Row:
        """Return a row by its place."""
        return self.season.rows[place[0]][place[1]]

    def one_of(self, values: list[Any]) -> Any:
        """Draw one of some values."""
        return values[self.whole(0, len(values) - 1)]

    def whole(self, low: int, high: int) -> int:
        """Draw a whole number from `low` to `high`, both included."""
        return int(self.draws.whole(low, high, 1)[0])

    def free(self, kind: str, suits: Callable[[Row], bool] = lambda row: True) -> Row:
        """Draw a row that suits and has no fault yet; NoRowLeft where there is none."""
        rows = [
            row
            for row in self.season.rows[kind]
            if (kind, row["_id"]) not in self.taken and suits(row)
        ]
        if not rows:
            raise NoRowLeft(kind)
        return self.one_of(rows)

    def rows(self, kind: str, suits: Callable[[Row], bool]) -> list[Row]:
        """Return the rows of a kind that suit and have no fault yet."""
        return [
            row
            for row in self.season.rows[kind]
            if (kind, row["_id"]) not in self.taken and suits(row)
        ]

    def append(self, kind: str, row: Row, **changed: Any) -> Row:
        """Add a row, a copy of another with some values changed, at the end of its sheet."""
        new = row | changed
        new["_id"] = len(self.season.rows[kind])
        self.season.rows[kind].append(new)
        self._index(kind, new)
        return new

    def note(
        self,
        fault: str,
        kind: str,
        *rows: Row,
        group: bool = False,
        money: bool = False,
        traced: bool = True,
        beside: Iterable[Place] = (),
        also: Iterable[Place] = (),
    ) -> None:
        """Note a planted fault at some rows of a kind; `also`: rows of other kinds at fault too.

        What stands on the same receipt, what was paid to the member, the members' plots and the
        station's lots are explained by it, as the kind allows.
        """
        places = frozenset((kind, row["_id"]) for row in rows) | frozenset(also)
        self.taken |= places
        explained = set(beside)
        for row in rows:
            explained.update(self._explained(kind, row))
        self.planted.append(
            Planted(
                kind=fault,
                rows=places,
                beside=frozenset(explained) - places,
                group=group,
                cents=sum(cents_of(kind, row) for row in rows) if money else 0,
                week=rows[0]["_week"],
                traced=traced,
            )
        )

    def member_rows(self, kind: str, member: Any) -> list[Place]:
        """Return the rows of a kind that truly concern a member."""
        return self._of_member.get((kind, member), [])

    def receipt_rows(self, receipt: str) -> list[Place]:
        """Return the weighings and members' records of a receipt."""
        return self._of_receipt.get(receipt, [])

    def station_lots(self, station: str) -> list[Place]:
        """Return the rows of a station's lots and of what was sold from them."""
        return self._of_station.get(station, [])

    def _explained(self, kind: str, row: Row) -> list[Place]:
        found: list[Place] = []
        if row.get("_receipt"):
            found += self.receipt_rows(row["_receipt"])
        if kind in ("weighings", "payments"):
            found += self.member_rows("payments", row["_member"])
        if kind in ("weighings", "plots"):
            found += self.member_rows("plots", row["_member"])
        if kind == "plots":
            found += self.member_rows("farm_record", row["_member"])
        if kind in ("weighings", "lots"):
            found += self.station_lots(row["_at"])
        if kind == "sales":
            found += self.station_lots(row["_of"])
        return found


def cents_of(kind: str, row: Row) -> int:
    """Return the money of a row: what is paid or, for a weighing, what it is worth."""
    if kind == "weighings":
        return max(0, price_cents(row))
    return abs(int(row["amount"])) if kind == "payments" else 0


def plant_all(season: Season, seed: int, faults: Iterable[Fault], share: float) -> Planting:
    """Plant every kind of fault; `share`: how many members the season has, over 600."""
    planting = Planting(season, Draws(seed, "trial-faults"))
    for fault in faults:
        planting.draws = Draws(seed, f"trial-fault-{fault.kind}")
        wanted = max(1, round(fault.a_season * share))
        for _ in range(wanted + TRIES):
            if sum(planted.kind == fault.kind for planted in planting.planted) == wanted:
                break
            with suppress(NoRowLeft):
                fault.plant(planting, fault.kind)
    return planting
