"""Works out where the season's coffee is, from cards, scales, sales and counts."""

import gc
import re
from collections.abc import Collection, Generator
from contextlib import contextmanager

import duckdb
import polars as pl

from pipeline.coffee.events import Bought, Counted, Held, Move, Place, Row, Sold, Step
from pipeline.coffee.order import in_order
from pipeline.coffee.walk import Walk
from pipeline.season.coffee_halt import day_of_halt, halt_before, keep_halt
from pipeline.season.frames import frame_of_rows, insert_frame
from pipeline.season.only import only
from pipeline.season.tables import rows, season_sql

# What stands between the numbers of lots on a card.
BETWEEN = re.compile(r"[,;/+&\s]+")
WORDS_BETWEEN = frozenset({"and", "et", "y", "e", "na"})
# Of `lot_steps`, in the order of what a step is: what is not named there is none.
STEP_COLUMNS = (
    "sheet_no, row_no, lot_no, seq, day, station, species, form_before, form_after, from_lots, "
    "in_g, out_g, coalesce(water_g, 0), coalesce(parts_g, 0), coalesce(sorted_g, 0), "
    "coalesce(handling_g, 0), coalesce(loss_g, 0), coalesce(gain_g, 0), handling_bp, "
    "opens, wets, dries, waits"
)


def work_out_coffee(
    con: duckdb.DuckDBPyConnection, forced: Collection[Row] = (), *, in_part: bool = False
) -> None:
    """Fill `lot_steps`, `coffee_moves`, `coffee_origins` and `coffee_aside` from counted rows.

    Needs `coffee_days`. `forced`: rows that the manager counts though the coffee was not there for
    them. Where nothing changed before the day of the halt that is kept, what was written of those
    days stays; `in_part`: so do the steps of lots that are not in `lots_to_follow`.
    """
    # All of it is gone again before anything looks for garbage.
    with _no_look_for_garbage():
        _fill_steps(con, in_part=in_part)
        _follow(con, forced)


def _fill_steps(con: duckdb.DuckDBPyConnection, *, in_part: bool) -> None:
    which = "lot_no in (select lot_no from lots_to_follow)" if in_part else "true"
    con.execute(f"delete from lot_steps where {which}")
    with only(con, ["lots", "coffee_days"] if in_part else [], which):
        con.execute(season_sql("lot_steps"))


def _follow(con: duckdb.DuckDBPyConnection, forced: Collection[Row]) -> None:
    course = in_order(_bought(con), _steps(con), _sold(con), _counted(con))
    day = day_of_halt(course)
    halt = halt_before(con, course, forced, day)
    since = halt.day if halt else None
    walk = Walk(course, forced, halt)
    if day and day != since:
        walk.go(day)
        keep_halt(con, walk.halt(day), course, forced)
    walk.go()
    for table in ("coffee_moves", "coffee_origins", "coffee_aside"):
        # What lies there in the end is of no day.
        later = "$since is null or day is null or day >= $since"
        con.execute(f"delete from {table} where {later}", {"since": since})
    _keep_moves(con, walk.moves)
    _keep_origins(con, walk.held())
    for aside in walk.asides:
        con.execute(
            "insert into coffee_aside values (?, ?, ?, ?, ?, ?, kg_from_grams(?))",
            [*aside.row, aside.day, aside.why, aside.about, aside.there_g],
        )


@contextmanager
def _no_look_for_garbage() -> Generator[None]:
    """All that is made meanwhile stays until the end; to look on the way takes a third more."""
    collects = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collects:
            gc.enable()


def lots_named(text: str | None) -> tuple[str, ...]:
    """Return the lot numbers in a cell: "L-011, L-012 and L-013", as codes are stored."""
    if not text:
        return ()
    parts = BETWEEN.split(text)
    return tuple(
        dict.fromkeys(part.upper() for part in parts if part and part.lower() not in WORDS_BETWEEN)
    )


def _bought(con: duckdb.DuckDBPyConnection) -> list[Bought]:
    return [
        Bought(day, Place(station, species, form, lot_no), grams, returned)
        for day, station, species, form, lot_no, grams, returned in rows(
            con, season_sql("coffee_bought")
        )
    ]


def _steps(con: duckdb.DuckDBPyConnection) -> list[Step]:
    return [
        Step._make((("lots", *row[:2]), *row[2:9], lots_named(row[9]), *row[10:]))
        for row in rows(con, f"select {STEP_COLUMNS} from lot_steps order by lot_no, seq")
    ]


def _sold(con: duckdb.DuckDBPyConnection) -> list[Sold]:
    return [
        Sold(
            row=("sales", sheet_no, row_no),
            day=day,
            station=station,
            species=species,
            form=form,
            lot_no=lot_no,
            grams=grams,
        )
        for sheet_no, row_no, day, station, species, form, lot_no, grams in rows(
            con, season_sql("coffee_sold")
        )
    ]


def _counted(con: duckdb.DuckDBPyConnection) -> list[Counted]:
    return [
        Counted(
            row=("store_checks", sheet_no, row_no),
            day=day,
            station=station,
            form=form,
            lot_no=lot_no,
            grams=grams,
        )
        for sheet_no, row_no, day, station, form, lot_no, grams in rows(
            con, season_sql("coffee_counted")
        )
    ]


def _keep_moves(con: duckdb.DuckDBPyConnection, moves: list[Move]) -> None:
    """Add moves to those that stayed, in their order."""
    ((stayed,),) = rows(con, "select coalesce(max(move_no), 0) from coffee_moves")
    frame = frame_of_rows(
        (
            (number, day, *place, what, grams, *(row or (None, None, None)))
            for number, (day, place, what, grams, row) in enumerate(moves, stayed + 1)
        ),
        {
            "move_no": pl.Int32,
            "day": pl.Date,
            **dict.fromkeys((*Place._fields, "what"), pl.String),
            "grams": pl.Int64,
            "kind": pl.String,
            "sheet_no": pl.Int32,
            "row_no": pl.Int32,
        },
    )
    insert_frame(con, "coffee_moves", frame)


def _keep_origins(con: duckdb.DuckDBPyConnection, held: list[Held]) -> None:
    frame = frame_of_rows(
        (
            (
                one.holder,
                *one.place,
                one.day,
                *(one.row[1:] if one.row else (None, None)),
                origin.place.station,
                origin.place.form,
                origin.place.lot_no,
                origin.day,
                grams,
            )
            for one in held
            for origin, grams in one.origins.items()
        ),
        {
            **dict.fromkeys(("holder", "station", "species", "form", "lot_no"), pl.String),
            "day": pl.Date,
            "sale_sheet_no": pl.Int32,
            "sale_row_no": pl.Int32,
            **dict.fromkeys(("origin_station", "origin_form", "origin_lot_no"), pl.String),
            "origin_day": pl.Date,
            "grams": pl.Int64,
        },
    )
    insert_frame(con, "coffee_origins", frame)
