"""Honest seasons that vary as life does, as rows of typed values that faults are planted in.

Trees bear every other year more, frost or drought takes a part of a zone's crop, a few farms are
large, some recorders round at times, numbers of receipts are void, sheets come late and stations
rest on holidays; most plots were counted a year before too. Half of the members keep no record of
their own.
"""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import polars as pl

from pipeline.samples.draws import Draws, Whole
from pipeline.samples.farm import farm_record
from pipeline.samples.land import Land, land
from pipeline.samples.lots import lots_and_sales
from pipeline.samples.money import SECOND_LIST_WEEK, payments, price_list
from pipeline.samples.people import FAMILY, GIVEN, Members, Station, members, stations
from pipeline.samples.season import (
    BOOK_SIZE,
    FIRST_DAY,
    FRESH,
    Lines,
    Receipts,
    receipts,
    records,
    weighings,
)
from pipeline.trial.life import bags_as_filled, cards_as_kept, counted_before

Row = dict[str, Any]

WEEKS, PER_MEMBER = 26, 8.0
LAST_DAY = FIRST_DAY + timedelta(weeks=WEEKS, days=-1)
LARGE_FARMS, MOST_AREA = 0.03, 390
ROUNDING_RECORDERS, ROUNDED = 0.2, 0.2
VOID, LATE, HOLIDAYS = 0.008, 0.03, 3
DRY_FROM_WEEK, FROM_MEMORY = 4, 0.15
REGISTERS = ("members", "plots", "prices", "receipt_books")


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """A season's rows by kind of sheet; what begins with "_" is known to the trial only.

    Every row has `_id` (its place among the rows of its kind), `_week` (the week whose sheet it
    stands in, -1 for registers), `_at` (the station whose sheet it is, "" for none) and, where it
    has any, `_member`, `_receipt` and `_lot`: whom and what it truly concerns. Weights are in steps
    of 0.1 kg, money in cents. `late`: weeks by which a sheet (kind, week, station) comes late.
    """

    places: tuple[Station, ...]
    rows: dict[str, list[Row]]
    late: dict[tuple[str, int, str], int]


def places() -> tuple[Station, ...]:
    """Return eight stations whose codes begin with different letters, each with two recorders."""
    by_letter: dict[str, Station] = {}
    for place in stations(200):
        by_letter.setdefault(place.code[0], place)
    chosen = tuple(by_letter.values())[:8]
    return tuple(two_recorders(place, n) for n, place in enumerate(chosen))


def two_recorders(place: Station, n: int) -> Station:
    """Return a station with a second recorder where it has one: the n-th from the names' end."""
    first = place.recorders[0]
    name = f"{GIVEN[-1 - n % len(GIVEN)]} {FAMILY[-1 - n % len(FAMILY)]}"
    second = (*place.recorders[1:], name)[0]
    return replace(place, recorders=(first, second))


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """An honest season as frames by kind of sheet, and what its rows truly concern."""

    frames: dict[str, pl.DataFrame]
    slips: Receipts
    register: Members
    draws: Draws


def honest_season(seed: int, people: int) -> Season:
    """Draw an honest season of so many members, as rows."""
    sites = places()
    drawn = honest_frames(seed, people, sites)
    rows = {kind: frame.to_dicts() for kind, frame in drawn.frames.items()}
    _say_what_they_concern(rows, sites, drawn.slips, drawn.register)
    return Season(places=sites, rows=rows, late=_late(drawn.draws, rows))


def honest_frames(seed: int, people: int, sites: tuple[Station, ...]) -> Drawn:
    """Draw an honest season of so many members at some stations, as frames."""
    draws = Draws(seed, "trial-life")
    register = members(seed, sites, people)
    ground = _crop_of_the_year(draws, sites, register, _large_farms(draws, land(seed, register)))
    slips = receipts(
        seed, sites, register, ground.crop_kg,
        weeks=WEEKS, late_week=False, per_member=PER_MEMBER,
    )  # fmt: skip
    slips, void = _void_numbers(draws, sites, _holidays(draws, _dried(slips)))
    lines = _rounded(draws, sites, slips, weighings(seed, sites, register, slips))
    lines = replace(lines, frame=bags_as_filled(draws, lines.frame))
    frames = {
        "members": register.frame,
        "plots": ground.frame,
        "prices": pl.concat([price_list(1), price_list(2)]),
        "receipt_books": _books(sites, slips, void),
        "weighings": lines.frame,
        "deliveries": _from_memory(draws, records(seed, sites, register, slips, lines)),
        "farm_record": farm_record(seed, register, WEEKS),
        "payments": payments(seed, register, slips, lines),
        **lots_and_sales(seed, lines.frame, WEEKS),
    }
    frames["lots"] = cards_as_kept(draws, sites, frames["lots"])
    before = counted_before(draws, ground.frame)
    frames["plots"] = pl.concat(
        [
            ground.frame.with_columns(_old=pl.lit(None, pl.Boolean)),
            pl.DataFrame(before, ground.frame.schema | {"_old": pl.Boolean}),
        ]
    )
    return Drawn(frames=frames, slips=slips, register=register, draws=draws)


def _large_farms(draws: Draws, ground: Land) -> Land:
    """Make a few farms three to eight times as large, none of them above 3.9 ha a plot."""
    owner = ground.frame["member_no"].rank("dense").to_numpy().astype(np.int64) - 1
    people = len(ground.crop_kg)
    times = np.where(draws.hit(LARGE_FARMS, people), draws.whole(3, 8, people), 1)
    largest = np.zeros(people, dtype=np.int64)
    np.maximum.at(largest, owner, ground.frame["area_ha"].to_numpy())
    times = np.minimum(times, MOST_AREA // largest)
    by_plot = pl.Series(times[owner])
    grown = [pl.col(name) * by_plot for name in ("trees", "trees_bearing", "area_ha")]
    return Land(crop_kg=ground.crop_kg * times, frame=ground.frame.with_columns(grown))


def _crop_of_the_year(
    draws: Draws, sites: tuple[Station, ...], register: Members, ground: Land
) -> Land:
    """Let trees bear every other year more, and weather take a part of a zone's crop."""
    people = len(ground.crop_kg)
    zones = sorted({place.zone for place in sites})
    weather = dict(zip(zones, 1.0 - 0.45 * draws.uniform(len(zones)) ** 3, strict=True))
    of_zone = np.array([weather[place.zone] for place in sites])[register.station]
    # Most trees of a region bear in the same rhythm; some members' are in the other.
    on_year = draws.hit(float(draws.pick([0.5, 0.5], 1)[0]) * 0.5 + 0.25, people)
    bearing = np.where(on_year, 1.2, 0.8) * np.exp(0.08 * draws.bell(people))
    return replace(ground, crop_kg=ground.crop_kg * of_zone * bearing)


def _dried(slips: Receipts) -> Receipts:
    """Leave out the dry coffee of the first weeks: none of this harvest can have dried by then."""
    keep = (slips.form == FRESH) | (slips.week >= DRY_FROM_WEEK)
    kept = {name: getattr(slips, name)[keep] for name in Receipts.__dataclass_fields__}
    return Receipts(**kept)


def _from_memory(draws: Draws, frame: pl.DataFrame) -> pl.DataFrame:
    """Let some of those who keep a notebook write down from memory, to 5 kg."""
    numbers = frame["member_no"].unique().sort()
    forgetful = numbers.filter(pl.Series(draws.hit(FROM_MEMORY, len(numbers))))
    by_memory = pl.col("member_no").is_in(forgetful.implode())
    by_memory &= (pl.col("written_from") == "own_notebook") & (pl.col("kg") >= 100)
    return frame.with_columns(
        kg=pl.when(by_memory).then((pl.col("kg") + 25) // 50 * 50).otherwise("kg"),
        written_from=pl.when(by_memory).then(pl.lit("memory")).otherwise("written_from"),
    )


def _holidays(draws: Draws, slips: Receipts) -> Receipts:
    """Bring what falls on a holiday a day later; holidays lie from Monday to Friday."""
    weeks, days = draws.whole(0, WEEKS - 1, HOLIDAYS), draws.whole(0, 4, HOLIDAYS)
    shut = np.isin(slips.day, 7 * weeks + days)
    return replace(slips, day=slips.day + shut)


def _void_numbers(
    draws: Draws, sites: tuple[Station, ...], slips: Receipts
) -> tuple[Receipts, dict[str, list[int]]]:
    """Number the receipts anew with some numbers void, and return these by station."""
    number = np.zeros(len(slips.number), dtype=np.int64)
    void: dict[str, list[int]] = {}
    for n, place in enumerate(sites):
        here = np.flatnonzero(slips.station == n)
        out = draws.hit(VOID, 2 * len(here) + 50)
        good = np.flatnonzero(~out)[: len(here)] + 1
        number[here] = good
        last = int(good[-1]) if len(good) else 0
        void[place.code] = [int(no) + 1 for no in np.flatnonzero(out) if no < last]
    return replace(slips, number=number), void


def _books(sites: tuple[Station, ...], slips: Receipts, void: dict[str, list[int]]) -> pl.DataFrame:
    found: list[Row] = []
    for n, place in enumerate(sites):
        used = int(slips.number[slips.station == n].max(initial=0))
        for book in range(-(-used // BOOK_SIZE)):
            first, last = book * BOOK_SIZE + 1, (book + 1) * BOOK_SIZE
            cancelled = [str(no) for no in void[place.code] if first <= no <= last]
            found.append(
                {
                    "station": place.code,
                    "receipt_book": f"{place.code[0]}{book + 1:02d}",
                    "first_no": first,
                    "last_no": last,
                    "void_nos": ", ".join(cancelled) or None,
                }
            )
    return pl.DataFrame(found, infer_schema_length=None)


def _rounded(draws: Draws, sites: tuple[Station, ...], slips: Receipts, lines: Lines) -> Lines:
    """Let some recorders read the scale to half a kilogram now and then."""
    names = sorted({name for place in sites for name in place.recorders})
    rounds = [name for name, hit in zip(names, draws.hit(ROUNDING_RECORDERS, len(names)),
                                        strict=True) if hit]  # fmt: skip
    frame, count = lines.frame, lines.frame.height
    coarse = np.array([place.interval_hg for place in sites])[slips.station[lines.receipt]] > 1
    at_times = pl.Series(draws.hit(ROUNDED, count) & ~coarse)
    half = ((pl.col("gross_kg") + 2) // 5) * 5
    gross = pl.when(at_times & pl.col("recorder").is_in(rounds)).then(half).otherwise("gross_kg")
    frame = frame.with_columns(gross_kg=gross)
    frame = frame.with_columns(net_kg=pl.col("gross_kg") - pl.col("tare_kg"))
    return replace(lines, net_hg=frame["net_kg"].to_numpy(), frame=frame)


def _say_what_they_concern(
    rows: dict[str, list[Row]], sites: tuple[Station, ...], slips: Receipts, register: Members
) -> None:
    letters = {place.code[0]: place.code for place in sites}
    receipt = _receipt_of_day(sites, slips, register.number)
    for kind, of_kind in rows.items():
        for n, row in enumerate(of_kind):
            row["_id"] = n
            row["_week"] = row.get("week", -1)
            row["_at"] = row["station"] if kind in ("weighings", "deliveries", "lots") else ""
            row["_member"] = row.get("member_no")
            if kind == "weighings":
                row["_receipt"] = receipt_key(row)
            if kind == "deliveries":
                row["_receipt"] = receipt.get((row["member_no"], row["day"]))
            if kind in ("lots", "sales"):
                row["_lot"] = row["lot_no"]
                row["_of"] = letters[row["lot_no"][0]]


def receipt_key(row: Row) -> str:
    """Return what names the receipt of a weighing: station and number."""
    return f"{row['station']}|{row['receipt_no']}"


def _receipt_of_day(
    sites: tuple[Station, ...], slips: Receipts, number: Whole
) -> dict[tuple[int, date], str]:
    found: dict[tuple[int, date], str] = {}
    for member, station, day, no in zip(
        slips.member, slips.station, slips.day, slips.number, strict=True
    ):
        on = FIRST_DAY + timedelta(days=int(day))
        found.setdefault((int(number[member]), on), f"{sites[station].code}|{no}")
    return found


def _late(draws: Draws, rows: dict[str, list[Row]]) -> dict[tuple[str, int, str], int]:
    sheets = sorted({(kind, row["_week"], row["_at"]) for kind in rows if kind not in REGISTERS
                     for row in rows[kind]})  # fmt: skip
    late, weeks = draws.hit(LATE, len(sheets)), draws.whole(1, 3, len(sheets))
    return {sheet: int(by) for sheet, by, is_late in zip(sheets, weeks, late, strict=True)
            if is_late}  # fmt: skip


def price_cents(row: Row) -> int:
    """Return what a weighing's net weight is worth in cents before deductions; 0 without a price.

    Prices are ten-thousandths of a dollar a kg: 600 steps of 0.1 kg at 6200 are 3720 cents.
    """
    number = 1 if row["_week"] < SECOND_LIST_WEEK else 2
    for price in price_list(number).iter_rows(named=True):
        if all(price[name] == row[name] for name in ("species", "form", "grade")):
            return (int(row["net_kg"]) * int(price["price_per_kg"]) + 500) // 1000
    return 0
