"""Matches members' own records of deliveries with what the stations weighed.

A record is evidence, never kilograms: the pairs only say what it bears out or puts in question.
"""

from collections.abc import Iterable

import duckdb
import numpy as np
import polars as pl

from pipeline.season.frames import register_frame
from pipeline.season.match_best import NO_PAIR, SURE, Edges, best_pairs
from pipeline.season.only import only
from pipeline.season.tables import rows, season_sql

# Hundredths of a natural logarithm of the odds, as all gains are.
# Two rows of one member and day agree that much by chance; what agrees no more is no candidate.
BY_CHANCE = 200
# A pair is settled where it is e^4, about 50 times, likelier than any other way and than none.
MARGIN = 400
# Pairs that one member's day may make before none of its rows is told from any other.
MOST_A_DAY = 2500


def match_season(con: duckdb.DuckDBPyConnection) -> None:
    """Fill `matched` and `unmatched` from the live records and the weighings of a season file."""
    if rows(con, "select 1 from rows_deliveries limit 1"):
        _match(con)
        con.execute(season_sql("match_receipts"))


def match_members(con: duckdb.DuckDBPyConnection, members: Iterable[str]) -> set[str]:
    """Match the records and weighings of these members, and of those who share receipts, anew.

    Returns whose records have another partner now, or may have, or name a receipt that is known or
    missed only now.
    """
    con.execute(season_sql("match_members"), {"members": sorted(members)})
    whose = "(member_no is null or member_no in (select member_no from match_members))"
    for table in ("matched", "unmatched"):
        con.execute(f"delete from {table} where {whose}")
    with only(con, ("weighings", "live_deliveries"), whose):
        _match(con)
    con.execute(season_sql("match_receipts"))
    changed = "select member_no from match_members union select member_no from match_receipts"
    return {member_no for (member_no,) in rows(con, changed) if member_no}


def _match(con: duckdb.DuckDBPyConnection) -> None:
    con.execute(season_sql("match_records"))
    con.execute(season_sql("match_weighed"))
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
    con.execute(season_sql("match_apart"))
    con.execute(season_sql("matched"))
    con.execute(season_sql("unmatched"))
    con.unregister("match_found")
    con.unregister("match_knots")
