"""Keeps how coffee stood on a late day of the season, so that following it can go on from there."""

from collections.abc import Collection
from datetime import date

import duckdb
import polars as pl

from pipeline.coffee.events import Halt, Origin, Place, Row
from pipeline.coffee.order import Course
from pipeline.season.frames import frame_of_rows, insert_frame
from pipeline.season.tables import rows

# What is made of coffee that nobody weighed in, as a gain is.
NOWHERE = (None,) * len(Place._fields)


def day_of_halt(course: Course) -> date | None:
    """Return the day before which nine in ten of all things happen; None where nothing does."""
    return course.days[len(course.days) * 9 // 10] if course.days else None


def halt_before(
    con: duckdb.DuckDBPyConnection, course: Course, forced: Collection[Row], day: date | None
) -> Halt | None:
    """Return the halt that is kept, if it is no later than a day and all before it is as it was."""
    kept = rows(con, "select day, before, entered, stopped, wet from coffee_halt")
    if not kept or day is None or kept[0][0] > day:
        return None
    since, before, entered, stopped, wet = kept[0]
    if before != course.before(since, forced):
        return None
    heaps: dict[Place, tuple[int, dict[Origin, int]]] = {}
    for *where, grams, station, species, form, lot_no, taken_on, part in rows(
        con,
        "select station, species, form, lot_no, grams, origin_station, origin_species, "
        "origin_form, origin_lot_no, origin_day, origin_g from coffee_heaps order by turn",
    ):
        _, origins = heaps.setdefault(Place(*where), (grams, {}))
        if station is not None:
            origins[Origin(Place(station, species, form, lot_no), taken_on)] = part
    return Halt(since, heaps, frozenset(entered), frozenset(stopped), frozenset(wet))


def keep_halt(
    con: duckdb.DuckDBPyConnection, halt: Halt, course: Course, forced: Collection[Row]
) -> None:
    """Keep a halt in place of the one before it, with a digest of all that it hangs on."""
    for table in ("coffee_halt", "coffee_heaps"):
        con.execute(f"delete from {table}")
    con.execute(
        "insert into coffee_halt values (?, ?, ?, ?, ?)",
        [
            halt.day,
            course.before(halt.day, forced),
            *(sorted(lots) for lots in (halt.entered, halt.stopped, halt.wet)),
        ],
    )
    frame = frame_of_rows(
        (
            (*place, grams, *(origin.place if origin else NOWHERE), origin and origin.day, part)
            for place, (grams, origins) in halt.heaps.items()
            for origin, part in (origins.items() or [(None, None)])
        ),
        {
            **dict.fromkeys(Place._fields, pl.String),
            "grams": pl.Int64,
            **{f"origin_{name}": pl.String for name in Place._fields},
            "origin_day": pl.Date,
            "origin_g": pl.Int64,
        },
    )
    insert_frame(con, "coffee_heaps", frame.with_row_index("turn"))
