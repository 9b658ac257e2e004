"""The invented cooperative's stations, villages and members: all names are made up."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import islice, product

import numpy as np
import polars as pl

from pipeline.samples.draws import Draws, Whole

SPECIES = ("arabica", "robusta")
GIVEN = (
    "Asha Ibo Lio Tevi Maré Ñuri Oŋa Baɓo Selu Kanto Yema Dorin Felé Jaro Wenna Tiŋo Mavu-Ru "
    "Soré Ilva Peku Naɓi Orrin Zeta Hemo Lumé Kasi Viro Eñá Tamru Belo Rassi Ediŋ Moré Sanu "
    "Ulla Girro Neva Ɓela Piro Jumé Osk Tirra Lenu Añola Coro Wibo Erré Duna"
).split()
FAMILY = (
    "Doreme Marren Tessan Velu Kirrow Oŋaldi Ɓarreno Tarlé Muntari Sedgo Peñor Lissam Arduin "
    "Goŋeli Harrowé Bekanti Rumeso Falloré Dindaru Ostemi Yarreñ Camberu Neŋadi Jollem Wessari "
    "Taɓoro Elunde Krésim Pallanu Zorremi Immeré Virano Lowendi Sarabeñ Ettoru Moŋari Quilledo "
    "Hanturé Bremeno Ollisa Ɗerrama Fenumi Garrosé Tulemba Nissaro Aldremi Ruɓeni Corvalé"
).split()


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """A weighing station with its one scale; the interval is in steps of 0.1 kg."""

    code: str
    name: str
    zone: str
    villages: tuple[str, str]
    recorders: tuple[str, ...]
    interval_hg: int = 1
    capacity_kg: int = 150


@dataclass(frozen=True, slots=True, kw_only=True)
class Members:
    """The register as arrays (one entry a member) and as the frame of its sheet."""

    number: Whole
    station: Whole
    species: Whole
    frame: pl.DataFrame


NAMED_STATIONS = (
    Station(
        code="KES",
        name="Kessim",
        zone="middle",
        villages=("Kessim", "Lower Tarrin"),
        recorders=("Ibo Marren", "Wenna Tarlé"),
    ),
    Station(
        code="ARD",
        name="Ardolo Bridge",
        zone="low",
        villages=("Ardolo", "Sedgo Flats"),
        recorders=("Orrin Sedgo",),
        interval_hg=2,
        capacity_kg=300,
    ),
    Station(
        code="MUN",
        name="Munta Hill",
        zone="high",
        villages=("Munta", "Upper Oŋal"),
        recorders=("Ñuri Oŋaldi", "Jaro Muntari"),
    ),
    Station(
        code="PAR",
        name="Parrune",
        zone="middle",
        villages=("Parrune", "Dréva"),
        recorders=("Tiŋo Harrowé",),
    ),
)


def stations(count: int) -> tuple[Station, ...]:
    """Return `count` stations: the four named ones, then as many numbered ones as it takes."""
    return (*NAMED_STATIONS[:count], *islice(_more_stations(), max(0, count - 4)))


def _more_stations() -> Iterator[Station]:
    zones = ("middle", "low", "high", "middle")
    for place, letters in enumerate(product("BDFGLNRSTVZ", "AEIOU", "LMNRS")):
        code = "".join(letters)
        name = f"{code.title()}dara"
        low = zones[place % 4] == "low"
        yield Station(
            code=code,
            name=name,
            zone=zones[place % 4],
            villages=(name, f"Upper {name}"),
            recorders=(f"{GIVEN[place % len(GIVEN)]} {FAMILY[place * 7 % len(FAMILY)]}",),
            interval_hg=2 if low else 1,
            capacity_kg=300 if low else 150,
        )


def damm_digits(bases: Whole) -> Whole:
    """Return the Damm check digit of each base number (572 -> 4)."""
    table = np.array([[int(cell) for cell in row] for row in _DAMM.split()], dtype=np.int64)
    digit = np.zeros_like(bases)
    for power in range(len(str(int(bases.max()))) - 1, -1, -1):
        # A leading zero leaves the running digit 0 at 0, so short numbers need no special case.
        digit = table[digit, bases // 10**power % 10]
    return digit


# The quasigroup of order 10 that H. M. Damm's check digit is commonly published with.
_DAMM = (
    "0317598642 7092154863 4206871359 1750983426 6123045978 "
    "3674209581 5869720134 8945362017 9438617205 2581436790"
)


def members(seed: int, places: tuple[Station, ...], count: int) -> Members:
    """Draw the register: numbers with a check digit, names, villages, home stations."""
    draws = Draws(seed, "members")
    first = 10 ** max(3, len(str(count * 2)) - 1)
    base = first + np.cumsum(1 + draws.hit(0.2, count).astype(np.int64))
    number = base * 10 + damm_digits(base)
    station = draws.pick([1.2 if place.zone == "low" else 1.0 for place in places], count)
    village = station * 2 + draws.hit(0.45, count).astype(np.int64)
    low = np.array([place.zone == "low" for place in places])[station]
    species = (low & draws.hit(0.9, count)).astype(np.int64)
    given, family = draws.whole(0, len(GIVEN) - 1, count), draws.whole(0, len(FAMILY) - 1, count)
    # Most joined early; the register's order is the order of joining.
    joined = np.sort(np.floor(6500 * draws.uniform(count) ** 1.5).astype(np.int64))
    frame = pl.DataFrame(
        {
            "member_no": number,
            "name": pl.Series(GIVEN).gather(given) + " " + pl.Series(FAMILY).gather(family),
            "village": pl.Series([v for place in places for v in place.villages]).gather(village),
            "station": pl.Series([place.code for place in places]).gather(station),
            "joined": days_from(date(2008, 3, 3), joined),
            # Numbers that no telephone and no bank has.
            "phone": "+999 700 0" + pl.Series(number).cast(pl.String),
            "account": "00 4410 0" + pl.Series(number).cast(pl.String),
        }
    ).with_columns(language=pl.lit("en"), account_at=pl.lit("Velunda savings society"))
    return Members(number=number, station=station, species=species, frame=frame)


def days_from(first: date, offsets: Whole) -> pl.Series:
    """Return the civil days that lie `offsets` days after `first`."""
    return pl.Series(offsets + (first - date(1970, 1, 1)).days, dtype=pl.Int32).cast(pl.Date)
