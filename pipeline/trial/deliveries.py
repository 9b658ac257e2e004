"""Seasons of deliveries as hard as life is, with the truth beside them: who wrote what of which.

Knows nothing of how records are matched. A delivery is weighed on one to three receipt lines of a
scale with steps of 0.5 kg, mostly in sacks filled to a standard weight, so that many weigh the
same.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from pipeline.samples.draws import Draws, Real, Whole
from pipeline.samples.people import Members, Station, days_from, members, stations
from pipeline.samples.season import FIRST_DAY
from pipeline.trial.slips import other_day, slipped_number, slipped_weight

Truth = npt.NDArray[np.bool_]

STATIONS, WEEKS, BOOK_SIZE = 8, 26, 50
DELIVERIES_EACH = 20
SACK_HG, STEP_HG = 600, 5

NO_RECORD = 0.10
FORGOTTEN = 0.03
NOT_WEIGHED = 0.03
TWICE_A_DAY = 0.30
# Some members keep no receipt at all, and everybody loses one now and then: 8 % together.
KEEPS_NO_RECEIPT, RECEIPT_LOST = 0.05, 0.032
WEIGHT_SLIPS, WRONG_DAYS, WRONG_NUMBERS, WRONG_MEMBER = 0.03, 0.02, 0.01, 0.003
COPIED, FROM_MEMORY = 0.40, 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """Rows as a season file holds them, weights in hundreds of grams, and the true pairs.

    `truth`: record_row_no and weighed_row_no (the first line), one row per delivery that was both
    weighed and written down.
    """

    weighings: pl.DataFrame
    records: pl.DataFrame
    truth: pl.DataFrame


@dataclass(frozen=True, slots=True, kw_only=True)
class _Delivered:
    member: Whole
    station: Whole
    day: Whole
    number: Whole
    net_hg: Whole
    lines: Whole


def season(seed: int, deliveries: int) -> Season:
    """Draw about so many deliveries: those weighed, those written down, and which are the same."""
    places = stations(STATIONS)
    register = members(seed, places, max(STATIONS, deliveries // DELIVERIES_EACH))
    done = _delivered(seed, deliveries, register)
    draws = Draws(seed, "trial-season")
    count = len(done.day)
    weighed = ~draws.hit(NOT_WEIGHED, count)
    no_record = draws.hit(NO_RECORD, len(register.number))[done.member]
    written = ~no_record & ~(draws.hit(FORGOTTEN, count) & weighed)
    weighings, first_line = _weighings(seed, places, register, done, weighed)
    records, record_row = _records(seed, places, register, done, written)
    both = weighed & written
    truth = pl.DataFrame({"record_row_no": record_row[both], "weighed_row_no": first_line[both]})
    return Season(weighings=weighings, records=records, truth=truth)


def _delivered(seed: int, deliveries: int, register: Members) -> _Delivered:
    """Draw days and loads; receipts are numbered by station in the order of the days."""
    draws = Draws(seed, "trial-deliveries")
    people = len(register.number)
    twice = draws.hit(TWICE_A_DAY, people)
    member = draws.whole(0, people - 1, deliveries)
    day = np.floor(draws.uniform(deliveries) * WEEKS * 7).astype(np.int64)
    # On most of their days these members come again in the afternoon.
    again = twice[member] & draws.hit(0.7, deliveries)
    source = np.concatenate([np.arange(deliveries), np.flatnonzero(again)])
    # Others keep to one delivery a day.
    keep = np.ones(len(source), dtype=np.bool_)
    _, first = np.unique(member * 1000 + day, return_index=True)
    keep[:deliveries] = False
    keep[first] = True
    keep[deliveries:] = keep[source[deliveries:]]
    source = source[keep]
    source = source[draws.uniform(len(source)).argsort()][:deliveries]
    member, day = member[source], day[source]
    station = register.station[member]
    order = np.lexsort((draws.uniform(len(source)), day, station))
    member, day, station = member[order], day[order], station[order]
    starts = np.searchsorted(station, np.arange(STATIONS))
    count = len(member)
    sacks = 1 + draws.pick([0.4, 0.3, 0.2, 0.1], count)
    part = np.where(draws.hit(0.25, count), draws.uniform(count), 1.0)
    load = (sacks - 1 + part.clip(0.2)) * SACK_HG + 8 * draws.bell(count)
    net = STEP_HG * np.round(load / STEP_HG).astype(np.int64)
    return _Delivered(
        member=member,
        station=station,
        day=day,
        number=np.arange(count) - starts[station] + 1,
        net_hg=net,
        lines=np.minimum(1 + draws.pick([0.75, 0.2, 0.05], count), sacks),
    )


def _books(places: tuple[Station, ...], station: Whole, number: Whole) -> pl.Series:
    letters = pl.Series([place.code[0] for place in places]).gather(station)
    return letters + pl.Series((number - 1) // BOOK_SIZE + 1).cast(pl.String).str.zfill(3)


def _weighings(
    seed: int, places: tuple[Station, ...], register: Members, done: _Delivered, weighed: Truth
) -> tuple[pl.DataFrame, Whole]:
    """Return the receipt lines, and the row number of each delivery's first."""
    draws = Draws(seed, "trial-weighings")
    lines = np.where(weighed, done.lines, 0)
    of = np.repeat(np.arange(len(lines)), lines)
    before = np.cumsum(lines) - lines
    line = np.arange(len(of)) - before[of] + 1
    # All lines but the last hold an equal share, on the scale's steps.
    share = STEP_HG * (done.net_hg // done.lines // STEP_HG)
    last = line == done.lines[of]
    net = np.where(last, (done.net_hg - share * (done.lines - 1))[of], share[of])
    frame = pl.DataFrame(
        {
            "row_no": np.arange(len(of)) + 2,
            "station": pl.Series([place.code for place in places]).gather(done.station[of]),
            "day": days_from(FIRST_DAY, done.day[of]),
            "receipt_book": _books(places, done.station, done.number).gather(of),
            "receipt_no": done.number[of],
            "line": line,
            "member_no": pl.Series(register.number[done.member[of]]).cast(pl.String),
            "net_hg": net,
            "recorder": pl.Series(["Ana Marren", "Teo Marren"]).gather(draws.whole(0, 1, len(of))),
        }
    )
    return frame, before + 2


def _records(
    seed: int, places: tuple[Station, ...], register: Members, done: _Delivered, written: Truth
) -> tuple[pl.DataFrame, Whole]:
    """Return what members wrote, slips and all, and the row number of each delivery's record."""
    draws = Draws(seed, "trial-records")
    people, own = len(register.number), np.flatnonzero(written)
    # Members send their books in as they please: the order of rows tells nothing.
    own = own[draws.uniform(len(own)).argsort()]
    count, member = len(own), done.member[own]
    habit = draws.pick([COPIED, 1 - COPIED - FROM_MEMORY, FROM_MEMORY], people)[member]
    kg = _remembered(draws, people, member, habit, done.net_hg[own])
    kg = np.where(draws.hit(WEIGHT_SLIPS, count), slipped_weight(draws, kg, SACK_HG), kg).astype(
        np.int64
    )
    day = np.where(draws.hit(WRONG_DAYS, count), other_day(draws, done.day[own]), done.day[own])
    number = done.number[own]
    number = np.where(draws.hit(WRONG_NUMBERS, count), slipped_number(draws, number), number)
    books = _books(places, done.station[own], done.number[own])
    lost = draws.hit(KEEPS_NO_RECEIPT, people)[member] | draws.hit(RECEIPT_LOST, count)
    # A member's number with a wrong digit is, thanks to its check digit, nobody else's.
    named = register.number[member]
    named = np.where(draws.hit(WRONG_MEMBER, count), slipped_number(draws, named), named)
    kept = pl.when(pl.Series(~lost))
    frame = pl.DataFrame(
        {
            "row_no": np.arange(count) + 2,
            "member_no": pl.Series(named).cast(pl.String),
            "day": days_from(FIRST_DAY, day),
            "station": pl.Series([place.code for place in places]).gather(done.station[own]),
            "receipt_book": books,
            "receipt_no": number,
            "kg_hg": kg,
            "written_from": pl.Series(["receipt_copy", "own_notebook", "memory"]).gather(habit),
        }
    ).with_columns(
        kept.then("receipt_book").alias("receipt_book"), kept.then("receipt_no").alias("receipt_no")
    )
    row_of = np.zeros(len(written), dtype=np.int64)
    row_of[own] = np.arange(count) + 2
    return frame, row_of


def _remembered(draws: Draws, people: int, member: Whole, habit: Whole, net_hg: Whole) -> Whole:
    """Return weights before any slip: copied, off a home balance, or rounded from memory."""
    count = len(member)
    balance: Real = 1 + 0.012 * draws.bell(people)
    home = net_hg * balance[member] * (1 + 0.01 * draws.bell(count))
    return np.select(
        [habit == 0, habit == 1],
        [net_hg, STEP_HG * np.round(home / STEP_HG).astype(np.int64)],
        50 * np.round(net_hg * (1 + 0.01 * draws.bell(count)) / 50).astype(np.int64),
    )
