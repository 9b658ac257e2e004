"""An honest season at the stations: what was weighed, and what members wrote down of it."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl

from pipeline.samples.draws import Draws, Real, Whole
from pipeline.samples.people import SPECIES, Members, Station, days_from

FIRST_DAY = date(2026, 3, 30)
FORMS = ("fresh_cherry", "parchment", "dry_cherry")
FRESH, PARCHMENT, DRY = range(3)
# Kilograms delivered for a kilogram of green: fresh arabica about 6; parchment 1/0.8 and dried
# cherry 1/0.5 after the ICO's conversion factors.
PER_GREEN = np.array([6.0, 1.25, 2.0])
MOST_LINE_KG, LEAST_LINE_KG, MOST_LINES = 126.0, 8.0, 4
BOOK_SIZE = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipts:
    """One entry a receipt, in the order of the stations' receipt books; weights in kg."""

    member: Whole
    station: Whole
    week: Whole
    day: Whole
    form: Whole
    kg: Real
    number: Whole


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """One entry a receipt line; weights in steps of 0.1 kg, `receipt` points into Receipts."""

    receipt: Whole
    grade: Whole
    net_hg: Whole
    frame: pl.DataFrame


def harvest_curve(weeks: int, zone: str, dry: bool, late_week: bool) -> Real:
    """Return the share of the crop brought in each week: a small early crop, one main peak.

    Dry forms come later, as drying takes weeks; the low zone is earlier and the high one later.
    `late_week` adds one more week, in which the last pickings come together.
    """
    when = (np.arange(weeks) + 0.5) / weeks
    shift = {"low": -0.05, "middle": 0.0, "high": 0.05}[zone] + (0.1 if dry else 0.0)
    main = np.exp(-(((when - 0.58 - shift) / 0.14) ** 2) / 2)
    early = 0.18 * np.exp(-(((when - 0.2 - shift) / 0.06) ** 2) / 2)
    curve = main + early + 0.2
    if late_week:
        curve = np.append(curve, 0.9 if dry else 0.6)
    return curve / curve.sum()


def receipts(
    seed: int,
    places: tuple[Station, ...],
    register: Members,
    crop_kg: Real,
    *,
    weeks: int,
    late_week: bool,
    per_member: float,
) -> Receipts:
    """Draw who delivers what and when: about `per_member` receipts a member."""
    draws = Draws(seed, "receipts")
    people = len(crop_kg)
    dried = np.array([0.0, 1.0, 0.25])[draws.pick([0.78, 0.1, 0.12], people)]
    dried[register.species == 1] = 1.0
    wanted = np.sqrt(crop_kg) * (1 - 0.4 * dried) * np.exp(0.2 * draws.bell(people))
    turns = np.maximum(1, np.round(wanted * per_member / float(wanted.mean()))).astype(np.int64)
    member = np.repeat(np.arange(people), turns)
    count = len(member)
    turn = np.arange(count) - np.repeat(np.cumsum(turns) - turns, turns)
    dry = draws.uniform(count) < dried[member]
    form = np.where(dry, np.where(register.species[member] == 1, DRY, PARCHMENT), FRESH)
    # One delivery in each equal part of the crop, so that a member's deliveries follow the curve.
    part = (turn + draws.uniform(count)) / turns[member]
    station = register.station[member]
    zones = [place.zone for place in places]
    week = np.zeros(count, dtype=np.int64)
    for zone in dict.fromkeys(zones):
        for is_dry in (False, True):
            here = np.array([z == zone for z in zones])[station] & (dry == is_dry)
            edges = np.cumsum(harvest_curve(weeks, zone, is_dry, late_week))
            week[here] = np.minimum(np.searchsorted(edges, part[here]), len(edges) - 1)
    peak = (week >= 0.5 * weeks) & (week < 0.7 * weeks)
    day = 7 * week + np.where(
        peak & draws.hit(0.06, count), 6, np.floor(6 * draws.uniform(count)).astype(np.int64)
    )
    kg = crop_kg[member] / turns[member] * PER_GREEN[form] * np.exp(0.2 * draws.bell(count))
    # Nobody is given two receipts on one day.
    _, keep = np.unique(member * 1000 + day, return_index=True)
    order = keep[np.lexsort((draws.uniform(len(keep)), day[keep], station[keep]))]
    station = station[order]
    starts = np.searchsorted(station, np.arange(len(places)))
    return Receipts(
        member=member[order],
        station=station,
        week=week[order],
        day=day[order],
        form=form[order],
        kg=kg[order],
        number=np.arange(len(order)) - starts[station] + 1,
    )


def weighings(seed: int, places: tuple[Station, ...], register: Members, slips: Receipts) -> Lines:
    """Draw the lines of each receipt: gross and tare are scale readings, net is their difference.

    Every weight is a multiple of the scale's interval, at least twenty of them, and below its
    capacity.
    """
    draws = Draws(seed, "weighings")
    aim = 40 + 75 * draws.uniform(len(slips.kg))
    lines = np.clip(np.ceil(slips.kg / aim), 1, MOST_LINES).astype(np.int64)
    receipt = np.repeat(np.arange(len(lines)), lines)
    count = len(receipt)
    share = (slips.kg / lines)[receipt] * (0.85 + 0.3 * draws.uniform(count))
    load = np.clip(share, LEAST_LINE_KG, MOST_LINE_KG - 12 * draws.uniform(count))
    bags = 1 + (load > 66).astype(np.int64)
    station = slips.station[receipt]
    step = np.array([place.interval_hg for place in places], dtype=np.int64)[station]
    # A bag weighs 0.2 to 1.0 kg, as the scale shows it.
    tare = bags * step * (2 // step + draws.whole(0, 8, count) // step)
    gross = step * np.round(load * 10 / step).astype(np.int64) + tare
    form = slips.form[receipt]
    moisture = np.clip(np.round(119 + 4.5 * draws.bell(count)), 110, 130).astype(np.int64)
    grade = 1 + draws.hit(0.2, count).astype(np.int64)
    codes = pl.Series([place.code for place in places])
    member = slips.member[receipt]
    frame = pl.DataFrame(
        {
            "week": slips.week[receipt],
            "station": codes.gather(station),
            "day": days_from(FIRST_DAY, slips.day[receipt]),
            "receipt_book": book_codes(places, slips)[receipt],
            "receipt_no": slips.number[receipt],
            "line": np.arange(count) - np.repeat(np.cumsum(lines) - lines, lines) + 1,
            "member_no": register.number[member],
            "species": pl.Series(SPECIES).gather(register.species[member]),
            "form": pl.Series(FORMS).gather(form),
            "grade": grade,
            "bags": bags,
            "gross_kg": gross,
            "tare_kg": tare,
            "net_kg": gross - tare,
            "moisture_pct": pl.Series(np.where(form == FRESH, 0, moisture)).replace(0, None),
            "scale": (codes + "-1").gather(station),
            "recorder": _recorders(places, station, slips.week[receipt]),
        }
    )
    return Lines(receipt=receipt, grade=grade, net_hg=gross - tare, frame=frame)


def book_codes(places: tuple[Station, ...], slips: Receipts) -> pl.Series:
    """Return each receipt's book: the station's letter and a number; fifty receipts a book."""
    letters = pl.Series([place.code[0] for place in places]).gather(slips.station)
    numbers = pl.Series((slips.number - 1) // BOOK_SIZE + 1)
    return letters + numbers.cast(pl.String).str.zfill(2)


def receipt_books(places: tuple[Station, ...], slips: Receipts) -> pl.DataFrame:
    """Return the books handed out: numbers run on from book to book; the last is begun only."""
    used = np.bincount(slips.station, minlength=len(places))
    rows = [
        (place.code, f"{place.code[0]}{n + 1:02d}", n * BOOK_SIZE + 1, (n + 1) * BOOK_SIZE)
        for place, count in zip(places, used, strict=True)
        for n in range(-(-int(count) // BOOK_SIZE))
    ]
    names = ["station", "receipt_book", "first_no", "last_no"]
    return pl.DataFrame(rows, schema=names, orient="row")


def _recorders(places: tuple[Station, ...], station: Whole, week: Whole) -> pl.Series:
    """Return who weighed: where there are two, they take turns by the week."""
    pairs = [(place.recorders[0], place.recorders[-1]) for place in places]
    return pl.Series([name for pair in pairs for name in pair]).gather(station * 2 + week % 2)


def records(
    seed: int, places: tuple[Station, ...], register: Members, slips: Receipts, lines: Lines
) -> pl.DataFrame:
    """Draw the members' own delivery records: half keep none, the rest weigh at home or copy.

    A home spring balance reads in steps of 0.5 kg and is a few per cent out; a copied receipt
    says what the receipt says.
    """
    draws = Draws(seed, "records")
    people, count = len(register.number), len(slips.kg)
    habit = draws.pick([0.5, 0.3, 0.2], people)
    balance = 1 + 0.012 * draws.bell(people)
    net = np.bincount(lines.receipt, weights=lines.net_hg, minlength=count)
    home = net * balance[slips.member] * (1 + 0.01 * draws.bell(count))
    own = habit[slips.member] == 1
    kg = np.where(own, 5 * np.round(home / 5), net).astype(np.int64)
    numbered = ~own | draws.hit(0.3, count)
    frame = pl.DataFrame(
        {
            "week": slips.week,
            "member_no": register.number[slips.member],
            "day": days_from(FIRST_DAY, slips.day),
            "station": pl.Series([place.code for place in places]).gather(slips.station),
            "receipt_book": book_codes(places, slips),
            "receipt_no": slips.number,
            "species": pl.Series(SPECIES).gather(register.species[slips.member]),
            "form": pl.Series(FORMS).gather(slips.form),
            "kg": kg,
            "written_from": pl.Series(["own_notebook", "receipt_copy"]).gather(1 - own),
            "numbered": numbered,
        }
    )
    kept = (habit[slips.member] > 0) & draws.hit(0.93, count)
    shown = pl.when(pl.col("numbered"))
    return frame.filter(pl.Series(kept)).with_columns(
        receipt_book=shown.then("receipt_book"),
        receipt_no=shown.then("receipt_no"),
        recorder=pl.lit("Selu Lissam"),
    )
