"""The limits that rules look at: defaults with their sources, and a book's own over them."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Protocol

import tomli

if TYPE_CHECKING:
    import duckdb

SPECIES = ("", "arabica", "robusta")
FORMS = ("", "fresh_cherry", "dry_cherry", "parchment", "green")


class UnknownLimit(ValueError):
    """A setting names a limit, species or form that no rule looks at."""


class OwnLimit(Protocol):
    """A limit that a book sets for itself: for all, or for one species, form, zone or station."""

    @property
    def name(self) -> str:
        """The limit's name."""
        ...

    @property
    def value(self) -> Decimal:
        """The value, in the limit's unit."""
        ...

    @property
    def because(self) -> str:
        """Why it differs."""
        ...

    @property
    def species(self) -> str:
        """The species it is for, or "" for all."""
        ...

    @property
    def form(self) -> str:
        """The form it is for, or "" for all."""
        ...

    @property
    def zone(self) -> str:
        """The altitude zone whose stations it is for, or "" for all."""
        ...

    @property
    def station(self) -> str:
        """The station it is for, or "" for all."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One limit: its unit, source and date, its default, and values by species or form."""

    name: str
    unit: str
    source: str
    date: str
    default: Decimal | None
    by: dict[str, dict[str, Decimal]]


@dataclass(frozen=True, slots=True)
class Applied:
    """The value that holds in one place, in the limit's unit, and where it comes from."""

    value: Decimal | None
    source: str


@cache
def limits() -> dict[str, Limit]:
    """Return every limit by name, in the order of the table."""
    raw = tomli.loads(resources.files("checks").joinpath("limits.toml").read_text("utf-8"))
    return {
        name: Limit(
            name=name,
            unit=entry["unit"],
            source=entry["source"],
            date=str(entry["date"]),
            default=Decimal(entry["default"]) if "default" in entry else None,
            by={
                over: {what: Decimal(value) for what, value in values.items()}
                for over, values in entry.get("by", {}).items()
            },
        )
        for name, entry in raw.items()
    }


def refuse_unknown(own: Iterable[OwnLimit]) -> None:
    """Raise UnknownLimit, with what there is, where a setting names nothing that exists."""
    for setting in own:
        if setting.name not in limits():
            raise UnknownLimit(
                f"There is no limit called {setting.name!r}. There are: {', '.join(limits())}."
            )
        if setting.species not in SPECIES or setting.form not in FORMS:
            raise UnknownLimit(
                f"The limit {setting.name!r} is set for {setting.species or setting.form!r}, "
                f"which is no species or form. There are: {', '.join(SPECIES[1:] + FORMS[1:])}."
            )


def applied(
    name: str,
    own: Iterable[OwnLimit],
    *,
    species: str = "",
    form: str = "",
    station: str = "",
    zone: str = "",
) -> Applied:
    """Return the value of a limit for one coffee at one station of a zone.

    The most exact setting wins; of two that name as much, that for the station.
    """
    limit = limits()[name]
    value = limit.by.get("form", {}).get(form, limit.by.get("species", {}).get(species))
    found = Applied(limit.default if value is None else value, f"{limit.source} (set {limit.date})")
    exact = (-1, False)
    for setting in own:
        asked = (setting.species, setting.form, setting.zone, setting.station)
        here = (species, form, zone, station)
        if setting.name == name and all(a in ("", h) for a, h in zip(asked, here, strict=True)):
            # Of two settings equally exact the later one in book.toml holds.
            if (as_exact := (sum(map(bool, asked)), bool(setting.station))) >= exact:
                exact = as_exact
                found = Applied(setting.value, f"This cooperative's own limit: {setting.because}")
    return found


def write_limits(
    con: "duckdb.DuckDBPyConnection", own: Sequence[OwnLimit], zones: Mapping[str, str]
) -> None:
    """Make the table `limits_here`: one row per species, form and station, one column a limit.

    `zones`: the zone of each station.
    """
    refuse_unknown(own)
    names = list(limits())
    columns = ", ".join(f"{name} decimal(14, 4)" for name in names)
    con.execute(
        "create or replace table limits_here "
        f"(species varchar, form varchar, station varchar, {columns})"
    )
    coffees = [{"species": species, "form": form} for species in SPECIES for form in FORMS]
    stations = {"": "", **zones}
    places = [
        {**coffee, "station": station, "zone": zone}
        for station, zone in stations.items()
        for coffee in coffees
    ]

    def of_places(name: str) -> Iterator[Decimal | None]:
        everywhere = [applied(name, (), **coffee).value for coffee in coffees]
        named = [setting for setting in own if setting.name == name]
        for station, zone in stations.items():
            # Most limits have no setting of this cooperative's own, and are the same everywhere.
            here = [setting for setting in named if setting.station in ("", station)]
            there = {"station": station, "zone": zone}
            yield from (
                (applied(name, here, **coffee, **there).value for coffee in coffees)
                if here
                else everywhere
            )

    # A list a column: one row at a time takes seconds where there are many stations.
    cells = ", ".join(["unnest(?)"] * 3 + ["unnest(cast(? as decimal(14, 4)[]))"] * len(names))
    about = [[place[what] for place in places] for what in ("species", "form", "station")]
    con.execute(
        f"insert into limits_here select {cells}", [*about, *map(list, map(of_places, names))]
    )
