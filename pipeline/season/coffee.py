"""Works out where the season's coffee is, from cards, scales, sales and counts."""

import gc
import re
from collections.abc import Collection
from typing import Any

import duckdb
import polars as pl

from pipeline.coffee.events import Bought, Counted, Held, Place, Row, Sold, Step
from pipeline.coffee.walk import Walk
from pipeline.season.frames import insert_frame
from pipeline.season.tables import rows, season_sql

# The kinds whose rows are followed, in the order in which they are checked.
FOLLOWED = ("lots", "sales", "store_checks")
# What stands between the numbers of lots on a card.
BETWEEN = re.compile(r"[,;/+&\s]+")
WORDS_BETWEEN = frozenset({"and", "et", "y", "e", "na"})
STEP_COLUMNS = (
    "lot_no, seq, day, station, species, form_before, form_after, from_lots, in_g, out_g, "
    "water_g, parts_g, sorted_g, handling_g, loss_g, gain_g, handling_bp, opens, wets, dries, "
    "waits, sheet_no, row_no"
)


def work_out_coffee(con: duckdb.DuckDBPyConnection, forced: Collection[Row] = ()) -> None:
    """Fill `lot_steps`, `coffee_moves`, `coffee_origins` and `coffee_aside` from counted rows.

    `forced`: rows that the manager counts though the coffee was not there for them.
    """
    for table in ("lot_steps", "coffee_moves", "coffee_origins", "coffee_aside"):
        con.execute(f"delete from {table}")
    con.execute(season_sql("lot_steps"))
    walk = Walk(forced)
    # All that is made here stays until the end; to look for garbage on the way takes a fifth more.
    collects = gc.isenabled()
    gc.disable()
    try:
        walk.go(_bought(con), _steps(con), _sold(con), _counted(con))
    finally:
        if collects:
            gc.enable()
    _keep_moves(con, walk)
    _keep_origins(con, walk.held())
    for aside in walk.asides:
        con.execute(
            "insert into coffee_aside values (?, ?, ?, ?, ?, kg_from_grams(?))",
            [*aside.row, aside.why, aside.about, aside.there_g],
        )


def lots_named(text: str | None) -> tuple[str, ...]:
    """Return the lot numbers in a cell: "L-011, L-012 and L-013", as codes are stored."""
    parts = BETWEEN.split(text or "")
    return tuple(
        dict.fromkeys(part.upper() for part in parts if part and part.lower() not in WORDS_BETWEEN)
    )


def _bought(con: duckdb.DuckDBPyConnection) -> list[Bought]:
    return [
        Bought(day=day, place=Place(*place), grams=grams, returned_g=returned)
        for day, *place, grams, returned in rows(con, season_sql("coffee_bought"))
    ]


def _steps(con: duckdb.DuckDBPyConnection) -> list[Step]:
    found: list[Step] = []
    for row in rows(con, f"select {STEP_COLUMNS} from lot_steps order by lot_no, seq"):
        given: dict[str, Any] = dict(zip(STEP_COLUMNS.split(", "), row, strict=True))
        named = (f"{what}_g" for what in ("water", "parts", "sorted", "handling", "loss", "gain"))
        given |= {name: given[name] or 0 for name in named}
        place = ("lots", given.pop("sheet_no"), given.pop("row_no"))
        made_from = lots_named(given.pop("from_lots"))
        found.append(Step(row=place, from_lots=made_from, **given))
    return found


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


def _keep_moves(con: duckdb.DuckDBPyConnection, walk: Walk) -> None:
    frame = pl.DataFrame(
        [
            (number, move.day, *move.place, move.what, move.grams, *(move.row or (None,) * 3))
            for number, move in enumerate(walk.moves, start=1)
        ],
        schema={
            "move_no": pl.Int32,
            "day": pl.Date,
            **dict.fromkeys(("station", "species", "form", "lot_no", "what"), pl.String),
            "grams": pl.Int64,
            "kind": pl.String,
            "sheet_no": pl.Int32,
            "row_no": pl.Int32,
        },
        orient="row",
    )
    insert_frame(con, "coffee_moves", frame)


def _keep_origins(con: duckdb.DuckDBPyConnection, held: list[Held]) -> None:
    frame = pl.DataFrame(
        [
            (
                one.holder,
                *one.place,
                *(one.row[1:] if one.row else (None, None)),
                origin.place.station,
                origin.place.form,
                origin.place.lot_no,
                origin.day,
                grams,
            )
            for one in held
            for origin, grams in one.origins.items()
        ],
        schema={
            **dict.fromkeys(("holder", "station", "species", "form", "lot_no"), pl.String),
            "sale_sheet_no": pl.Int32,
            "sale_row_no": pl.Int32,
            **dict.fromkeys(("origin_station", "origin_form", "origin_lot_no"), pl.String),
            "origin_day": pl.Date,
            "grams": pl.Int64,
        },
        orient="row",
    )
    insert_frame(con, "coffee_origins", frame)
