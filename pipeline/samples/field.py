"""What the cooperative did for its members: trainings, visits, credit; and their earlier crops."""

from datetime import date

import numpy as np
import polars as pl

from pipeline.samples.draws import Draws, Real, Whole
from pipeline.samples.land import Land
from pipeline.samples.people import NAMED_STATIONS, SPECIES, Members, days_from
from pipeline.samples.season import FIRST_DAY

TRAINER = "Maré Ettoru"
# Week, topic and station (as in NAMED_STATIONS) of each training, and how many of ten come.
TRAININGS = ((2, "mulching", 0, 6), (3, "pruning", 2, 6), (6, "picking", 3, 5), (6, "drying", 1, 5))
VISIT_WEEKS = (5, 10, 15, 20)
# What is looked for, and of how many it is done; those whose trees bear well do it more often.
PRACTICES = (
    ("pruning", 0.45),
    ("two or three stems", 0.6),
    ("mulch", 0.5),
    ("manure", 0.55),
    ("ripe picking", 0.7),
    ("shade", 0.4),
)
PESTS = (("leaf rust", "leaves"), ("berry borer", "berries"))
RECALLED = ("weeding", "pruning", "picking")
# What is given on credit in the second week: kind, item, unit, and the dearest it comes in cents.
GIVEN = (
    ("inputs", "compost", "basins", 900),
    ("inputs", "dry grass", "bundles", 700),
    ("seedlings", "seedlings", "pieces", 1200),
    ("tools", "pruning saw", "pieces", 1400),
)
CREDIT_WEEK = 1
# Earlier seasons: the last day, how large the crop was beside this one, and its price.
BEFORE = ((2023, 1.06, 0.86), (2024, 0.84, 0.92), (2025, 1.1, 0.97))
# Ten-thousandths of a crop in after a quarter, half and three quarters of the days.
IN_BY = (1500, 4200, 8400)
GREEN_CENTS = np.array([372, 238])


def trainings(seed: int, register: Members) -> pl.DataFrame:
    """Draw who came to each training: members of the station that it was held at."""
    draws = Draws(seed, "trainings")
    people = len(register.number)
    parts: list[pl.DataFrame] = []
    for week, topic, station, of_ten in TRAININGS:
        came = (register.station == station) & draws.hit(of_ten / 10, people)
        who = np.flatnonzero(came)
        parts.append(
            pl.DataFrame({"member_no": register.number[who]}).with_columns(
                week=pl.lit(week),
                day=pl.lit(days_from(FIRST_DAY, np.array([7 * week + 2 + station % 2]))[0]),
                topic=pl.lit(topic),
                people=pl.Series(draws.whole(1, 2, people)[who]),
                hours=pl.lit(3),
                station=pl.lit(NAMED_STATIONS[station].code),
                recorder=pl.lit(TRAINER),
            )
        )
    return pl.concat(parts).with_columns(pl.col("week").cast(pl.Int64))


def visits(seed: int, register: Members, ground: Land) -> pl.DataFrame:
    """Draw the visits: each goes to a fifth of the members and has a few rows for each of them."""
    draws = Draws(seed, "visits")
    people = len(register.number)
    rank = np.argsort(np.argsort(_per_tree(register, ground))) / people
    parts: list[pl.DataFrame] = []
    for week in VISIT_WEEKS:
        who = np.flatnonzero(draws.hit(0.2, people))
        count, day = len(who), days_from(FIRST_DAY, 7 * week + draws.whole(0, 4, people))
        seen = {"week": np.full(count, week), "member_no": register.number[who], "day": day[who]}
        for place in map(int, draws.whole(0, len(PRACTICES) - 1, 3)):
            name, share = PRACTICES[place]
            does = draws.uniform(count) < share - 0.2 + 0.4 * rank[who]
            parts.append(
                pl.DataFrame(seen).with_columns(
                    practice=pl.lit(name),
                    practice_seen=pl.Series(["no", "yes"]).gather(does.astype(np.int64)),
                )
            )
        pest, unit = PESTS[week % 2]
        looked = draws.hit(0.5, count)
        parts.append(
            pl.DataFrame(seen)
            .with_columns(
                pest=pl.lit(pest),
                looked_at=pl.lit(100),
                affected=pl.Series(draws.whole(1, 24, count)),
                counted_unit=pl.lit(unit),
            )
            .filter(pl.Series(looked))
        )
        told = draws.hit(0.4, count)
        parts.append(
            pl.DataFrame(seen)
            .with_columns(
                work=pl.Series(RECALLED).gather(draws.whole(0, len(RECALLED) - 1, count)),
                recalled_from=pl.lit(FIRST_DAY),
                family_days=pl.Series(10 * draws.whole(2, 9, count)),
                cost=pl.Series(50 * draws.whole(4, 24, count)),
            )
            .filter(pl.Series(told))
        )
    # Nobody tells twice of the same work: the second time would be the first told again.
    frame = pl.concat(parts, how="diagonal").with_columns(recorder=pl.lit(TRAINER))
    return frame.unique(
        ["member_no", "practice", "pest", "work"], keep="first", maintain_order=True
    ).sort("week", "day", "member_no", maintain_order=True)


def credit(seed: int, register: Members, ground: Land) -> pl.DataFrame:
    """Draw the issue notes: one in seven members takes one or two lines of inputs on credit."""
    draws = Draws(seed, "credit")
    people = len(register.number)
    enough = ground.crop_kg > float(np.quantile(ground.crop_kg, 0.3))
    who = np.flatnonzero(enough & draws.hit(0.2, people))
    lines = 1 + draws.hit(0.3, len(who)).astype(np.int64)
    owner = np.repeat(np.arange(len(who)), lines)
    count = len(owner)
    line = np.arange(count) - np.repeat(np.cumsum(lines) - lines, lines) + 1
    what = (draws.pick([0.4, 0.3, 0.15, 0.15], len(who))[owner] + line - 1) % len(GIVEN)
    dearest = np.array([row[3] for row in GIVEN])[what]
    amount = 5 * np.round(dearest * (0.4 + 0.6 * draws.uniform(count)) / 5).astype(np.int64)
    return pl.DataFrame(
        {
            "week": np.full(count, CREDIT_WEEK),
            "note_no": "IN-" + pl.Series(owner + 1).cast(pl.String).str.zfill(4),
            "line": line,
            "day": days_from(FIRST_DAY, 7 * CREDIT_WEEK + draws.whole(0, 3, len(who)))[owner],
            "member_no": register.number[who][owner],
            "credit_kind": pl.Series([row[0] for row in GIVEN]).gather(what),
            "item": pl.Series([row[1] for row in GIVEN]).gather(what),
            "quantity": np.where(what == 3, 1, draws.whole(2, 12, count)),
            "unit": pl.Series([row[2] for row in GIVEN]).gather(what),
            "amount": amount,
        }
    ).with_columns(
        station=pl.Series([place.code for place in NAMED_STATIONS]).gather(
            register.station[who][owner]
        ),
        charge=pl.col("amount") // 50,
        due_on=pl.lit(date(2026, 9, 30)),
        authority=pl.lit("Board, 12 March 2026"),
        signed=pl.lit("yes"),
        recorder=pl.lit("Selu Lissam"),
    )


def lent_cents(register: Members, notes: pl.DataFrame) -> Whole:
    """Return what each member owes on issue notes, in the order of the register; cents."""
    owed = dict(
        notes.group_by("member_no").agg(pl.col("amount").sum() + pl.col("charge").sum()).iter_rows()
    )
    return np.array([owed.get(int(number), 0) for number in register.number], dtype=np.int64)


def earlier_crops(seed: int, register: Members, ground: Land) -> pl.DataFrame:
    """Draw three earlier seasons: trees bear now more and now less, and come in about as usual."""
    draws = Draws(seed, "earlier")
    people, trees = len(register.number), _trees(register, ground)
    parts: list[pl.DataFrame] = []
    for year, size, price in BEFORE:
        kg = 10 * ground.crop_kg * size * np.exp(0.12 * draws.bell(people))
        green = np.round(kg).astype(np.int64)
        value = (green * GREEN_CENTS[register.species] * price / 10).astype(np.int64)
        late = 1 + 0.08 * draws.bell(people)
        by = [(green * np.clip(share * late, 0, 9900) // 10000).astype(np.int64) for share in IN_BY]
        parts.append(
            pl.DataFrame(
                {
                    "member_no": register.number,
                    "species": pl.Series(SPECIES).gather(register.species),
                    "ended_on": pl.Series([date(year, 10, 4)] * people),
                    "green_kg": green,
                    "trees_bearing": trees,
                    "by_quarter_kg": by[0],
                    "by_half_kg": by[1],
                    "by_three_quarters_kg": by[2],
                    "value": value,
                    "value_best": (value * (1.01 + 0.04 * draws.uniform(people))).astype(np.int64),
                }
            ).filter(pl.Series(green > 0))
        )
    return pl.concat(parts)


def _trees(register: Members, ground: Land) -> Whole:
    bearing = dict(
        ground.frame.group_by("member_no").agg(pl.col("trees_bearing").sum()).iter_rows()
    )
    return np.array([bearing[int(number)] for number in register.number], dtype=np.int64)


def _per_tree(register: Members, ground: Land) -> Real:
    return ground.crop_kg / np.maximum(_trees(register, ground), 1)
