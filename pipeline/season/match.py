"""Matches members' own records of deliveries with what the stations weighed.

A record is evidence, never kilograms: the pairs only say what it bears out or puts in question.
"""

from importlib import import_module
from threading import Thread

import duckdb
import numpy as np
import polars as pl

from checks.views import in_place
from pipeline.season.frames import register_frame
from pipeline.season.match_best import NO_PAIR, SURE, Edges, best_pairs
from pipeline.season.only import only_joined, only_touched
from pipeline.season.replace import replaced
from pipeline.season.tables import rows, season_sql

# Hundredths of a natural logarithm of the odds, as all gains are.
# Two rows of one member and day agree that much by chance; what agrees no more is no candidate.
BY_CHANCE = 200
# A pair is settled where it is e^4, about 50 times, likelier than any other way and than none.
MARGIN = 400
# Pairs that one member's day may make before none of its rows is told from any other.
MOST_A_DAY = 2500
# Among so many records some compete nearly always.
MANY = 10_000


def match_season(con: duckdb.DuckDBPyConnection) -> None:
    """Fill `matched` and `unmatched` from the live records, the weighings and `coffee_days`.

    `receipts_shared` as well, by which `match_members` knows whose rows hang together.
    """
    if rows(con, "select 1 from rows_deliveries limit 1"):
        _load_knots(con)
        con.execute(season_sql("receipts_named"))
        con.execute(season_sql("receipts_of_two"))
        _match(con)


def match_members(con: duckdb.DuckDBPyConnection) -> set[str]:
    """Match the records and weighings anew of members who are touched, and who share receipts.

    Needs `touched` and `touched_members`. Returns whose records have another partner now, or may
    have, or name a receipt that is known or missed only now.
    """
    _load_knots(con)
    _note_receipts(con)
    con.execute(season_sql("match_due"))
    con.execute(season_sql("match_members"))
    whose = "{}.member_no is not distinct from {}.member_no"
    gone = whose.format("unmatched", "m")
    con.execute(f"delete from unmatched using match_members as m where {gone}")
    picked = f"inner join match_members as m on {whose.format('t', 'm')}"
    few = ("match_members", whose.format("few", "r"))
    with only_joined(con, ["weighings"], *few):
        con.execute(season_sql("match_near"))
    with (
        only_joined(con, ["deliveries"], *few),
        in_place(con, {"weighings": "from match_near"}),
        replaced(con, {"matched": picked}),
    ):
        _match(con)
    found = rows(con, "select member_no from match_members where member_no is not null")
    return {member_no for (member_no,) in found}


def _load_knots(con: duckdb.DuckDBPyConnection) -> None:
    """Load what pairs rows that compete while DuckDB looks for candidates, where it is needed."""
    if rows(con, "select count(*) from rows_deliveries")[0][0] >= MANY:
        Thread(target=import_module, args=("pipeline.season.match_knots",)).start()


def _note_receipts(con: duckdb.DuckDBPyConnection) -> None:
    """Note who shares receipts by rows that are touched: of all others it stands there."""
    for kind in ("weighings", "deliveries"):
        if rows(con, "select 1 from touched where kind = ? limit 1", [kind]):
            with only_touched(con, kind):
                con.execute(season_sql("receipts_named"))
    if rows(con, "select 1 from touched where kind = 'deliveries' limit 1"):
        con.execute(season_sql("receipts_touched"))
        same = ("receipt_no", "receipt_book", "station")
        on = " and ".join(f"few.{name} = r.{name}" for name in same)
        with only_joined(con, ["deliveries"], "receipts_touched", on):
            con.execute(season_sql("receipts_of_two"))


def _match(con: duckdb.DuckDBPyConnection) -> None:
    con.execute(season_sql("match_records"))
    con.execute(season_sql("match_weighed"))
    con.execute(season_sql("match_named"))
    con.execute(season_sql("match_plain"))
    con.execute(season_sql("match_candidates"), {"most": MOST_A_DAY, "by_chance": BY_CHANCE})
    found = con.sql(
        "select record_no, weighed_no, gain from match_candidates order by record_no, weighed_no"
    ).fetchnumpy()
    record, weighed, gain = (
        np.asarray(found[name], dtype=np.int64) for name in ("record_no", "weighed_no", "gain")
    )
    best = best_pairs(Edges(record, weighed, gain), MARGIN)
    pairs = pl.DataFrame(
        {"record_no": record, "weighed_no": weighed, "knot": best.group, "gain": gain}
    )
    # What is hardly likelier than no pair at all is left to a person, rows that are alike as well.
    kept = pairs.filter(pl.col("knot") != NO_PAIR, pl.col("gain") >= MARGIN)
    register_frame(con, "match_found", kept.with_columns(settled=pl.col("knot") == SURE))
    members = [
        (knot, side, row)
        for knot, sides in best.doubtful.items()
        for side, ids in zip(("record", "weighing"), sides, strict=True)
        for row in ids
    ]
    schema = {"knot": pl.Int64, "side": pl.String, "row_id": pl.Int64}
    register_frame(con, "match_knots", pl.DataFrame(members, schema=schema, orient="row"))
    con.execute(season_sql("match_pairs"))
    con.execute(season_sql("matched"))
    con.execute(season_sql("unmatched"))
    con.execute(season_sql("match_due"))
    con.execute(season_sql("match_receipts"))
    con.unregister("match_found")
    con.unregister("match_knots")
