"""How well members' records are matched with the scale, on seasons whose true pairs are known."""

import time
from dataclasses import dataclass
from importlib import resources

import duckdb
import polars as pl

from pipeline.samples.people import stations
from pipeline.samples.sheets import book_toml
from pipeline.season.filled import hold_all
from pipeline.season.frames import register_frame
from pipeline.season.match import match_season
from pipeline.season.schema import create_tables
from pipeline.season.tables import connect, season_sql
from pipeline.season.written_settings import write_settings
from pipeline.settings import read_settings
from pipeline.trial.deliveries import STATIONS, WEEKS, Season, season

# The matcher was tuned on the seasons of these seeds; a season measured is of another.
TUNED_ON = (1, 2, 3)
THREADS = 2
WEIGHINGS, DELIVERIES = 1, 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Matching:
    """What matching one season gave.

    `true_pairs`: deliveries that were weighed and written down. `found`: of those, settled as they
    are. `wrong`: settled pairs that are not true. What is left of the true pairs, first that holds:
    `interchangeable`: its record or weighing is in a pair between rows that are alike, where any
    pairing says the same; `left_to_person`: its record or weighing cannot be told apart from
    another; `missed`: all others. So the true pairs are found, interchangeable, left to a person or
    missed. `found_share` is of true pairs, `wrong_share` of settled pairs. `seconds`: by the
    clock, from typed rows to `matched` and `unmatched`; `cpu_seconds`: of the processor, over all
    threads.
    """

    seed: int
    seed_was_tuned_on: bool
    deliveries: int
    rows: int
    records: int
    weighed: int
    true_pairs: int
    found: int
    wrong: int
    interchangeable: int
    left_to_person: int
    missed: int
    found_share: float
    wrong_share: float
    seconds: float
    cpu_seconds: float
    why: dict[str, int]
    wrong_by_why: dict[str, int]


def measure_matching(deliveries: int, seed: int) -> Matching:
    """Draw a season, match it as a refresh does, and hold the pairs against the truth."""
    drawn = season(seed, deliveries)
    with connect(":memory:", read_only=False, macros=True, threads=THREADS) as con:
        fill(con, drawn)
        wall, cpu = time.perf_counter(), time.process_time()
        match_season(con)
        wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
        counts, why = _held_against(con, drawn)
    return Matching(
        seed=seed,
        seed_was_tuned_on=seed in TUNED_ON,
        deliveries=deliveries,
        **counts,
        seconds=round(wall, 3),
        cpu_seconds=round(cpu, 3),
        found_share=round(counts["found"] / counts["true_pairs"], 5),
        wrong_share=round(counts["wrong"] / (counts["found"] + counts["wrong"]), 5),
        why=dict(why.select("why", "settled").iter_rows()),
        wrong_by_why=dict(why.filter(pl.col("wrong") > 0).select("why", "wrong").iter_rows()),
    )


def fill(con: duckdb.DuckDBPyConnection, drawn: Season) -> None:
    """Put a drawn season into the tables of an empty season file, as typed rows."""
    create_tables(con)
    hold_all(con)
    write_settings(con, read_settings(book_toml(stations(STATIONS), WEEKS)), "2026")
    for sheet_no, kind in ((WEIGHINGS, "weighings"), (DELIVERIES, "deliveries")):
        con.execute(
            "insert into sheets (sheet_no, sha256, name, kind, slot, version, taken_day, arrived) "
            "values (?, ?, ?, ?, ?, 1, date '2026-12-01', 0)",
            [sheet_no, *[kind] * 4],
        )
    register_frame(con, "drawn_weighings", drawn.weighings)
    register_frame(con, "drawn_records", drawn.records)
    con.execute(trial_sql("fill"))
    con.unregister("drawn_weighings")
    con.unregister("drawn_records")
    con.execute(season_sql("coffee_days"))


def trial_sql(name: str) -> str:
    """Return the text of one named query of this package."""
    return resources.files("pipeline.trial").joinpath(f"sql/{name}.sql").read_text("utf-8")


def _held_against(
    con: duckdb.DuckDBPyConnection, drawn: Season
) -> tuple[dict[str, int], pl.DataFrame]:
    """Return the counts of a trial, and how many settled pairs of each why there are and wrong."""
    register_frame(con, "truth", drawn.truth)
    con.execute(trial_sql("judged_pairs"))
    counts = con.sql(trial_sql("counts")).pl().row(0, named=True)
    return counts, con.sql(trial_sql("counts_by_why")).pl()
