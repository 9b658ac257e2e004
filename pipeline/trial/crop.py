"""How near the estimate of a station's crop comes at mid-season, on drawn seasons."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import duckdb
import polars as pl

from pipeline.season.filled import hold_all
from pipeline.season.frames import register_frame
from pipeline.season.schema import create_tables
from pipeline.season.tables import connect, season_sql
from pipeline.season.written_settings import write_settings
from pipeline.settings import read_settings
from pipeline.trial.crops import FIRST, LAST, STATIONS, Drawn, draw
from pipeline.yields.crop import Estimate, estimate

# The estimate's constants were chosen on these; what is measured is drawn from others.
TUNED_ON = tuple(range(1, 41))
SHARES = (0.0, 0.25, 0.5, 0.75)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """Mean absolute error of stations' crops, kg green, beside "as last year".

    `gain_over_last_year`: by how much the error at mid-season is less. `coverage_80`: share of
    stations whose crop lay in the range at mid-season. `by_day`: gain and coverage by the share of
    the season's days that are over.
    """

    seeds: int
    stations: int
    some_seeds_were_tuned_on: bool
    gain_over_last_year: float
    coverage_80: float
    error_kg: float
    error_last_year_kg: float
    by_day: dict[str, tuple[float, float]]


def measure_crop(seeds: Iterable[int]) -> Trial:
    """Draw each season, estimate it at four days, and hold the estimates against the truth."""
    chosen = list(seeds)
    by_day: dict[str, tuple[float, float]] = {}
    middle = (0.0, 0.0, 0.0, 0.0)
    for share in SHARES:
        off = last = held = count = 0.0
        for drawn, told in _each(chosen, share):
            for one in told:
                true = drawn.truth[one.name]
                off += abs(one.kg - true)
                last += abs(drawn.last_year[one.name] - true)
                held += one.low <= true <= one.high
                count += 1
        found = (1 - off / last, held / count, off / count, last / count)
        by_day[f"{share:.2f}"] = (round(found[0], 4), round(found[1], 4))
        if share == 0.5:
            middle = found
    return Trial(
        seeds=len(chosen),
        stations=STATIONS * len(chosen),
        some_seeds_were_tuned_on=bool(set(chosen) & set(TUNED_ON)),
        gain_over_last_year=round(middle[0], 4),
        coverage_80=round(middle[1], 4),
        error_kg=round(middle[2], 1),
        error_last_year_kg=round(middle[3], 1),
        by_day=by_day,
    )


def _each(seeds: Iterable[int], share: float) -> Iterator[tuple[Drawn, list[Estimate]]]:
    """Yield each drawn season and its stations' estimates, through the tables of a season file."""
    with connect(":memory:", read_only=False, macros=True, threads=2) as con:
        create_tables(con)
        hold_all(con)
        write_settings(con, read_settings(_book()), "2026")
        for seed in seeds:
            drawn = draw(seed, share)
            fill(con, drawn)
            crop = estimate(con)
            yield drawn, crop.stations if crop else []


def fill(con: duckdb.DuckDBPyConnection, drawn: Drawn) -> None:
    """Put a drawn season into a season file in place of what is there, and work out its blocks."""
    kinds = (("members", drawn.members), ("plots", drawn.plots), ("past_crops", drawn.past))
    for table in ("sheets", "filled_weighings", "member_coffee", "block_yield"):
        con.execute(f"delete from {table}")
    for sheet_no, (kind, frame) in enumerate(kinds, start=1):
        con.execute(f"delete from filled_{kind}")
        con.execute(
            "insert into sheets (sheet_no, sha256, name, kind, slot, version, taken_day, arrived) "
            "values (?, ?, ?, ?, ?, 1, date '2026-12-01', 0)",
            [sheet_no, *[kind] * 4],
        )
        rows = frame.with_row_index("row_no", offset=2).with_columns(
            pl.lit(sheet_no).alias("sheet_no")
        )
        register_frame(con, "drawn", rows)
        con.execute(f"insert into filled_{kind} by name select * from drawn")
        con.unregister("drawn")
    register_frame(con, "drawn", drawn.so_far)
    con.execute(
        "insert into member_coffee by name select member_no, 'arabica' as species, "
        "'green' as form, 1 as deliveries, kg as net_kg, kg as gbe_kg, 0 as value_minor from drawn"
    )
    con.unregister("drawn")
    con.execute(
        "insert into filled_weighings by name "
        "select 4 as sheet_no, 2 as row_no, cast(? as date) as day",
        [drawn.day],
    )
    con.execute(season_sql("block_yield"))


def _book() -> str:
    stations = "".join(
        f'\n[[station]]\ncode = "T{n:02}"\nname = "Station {n}"\nzone = "middle"\n'
        for n in range(STATIONS)
    )
    return (
        '[cooperative]\nname = "Drawn"\nplace = "Drawn"\ncurrency = "USD"\nquestions_days = 30\n'
        f'questions_to = "nobody"\n[[season]]\ncode = "2026"\nfirst_day = {FIRST}\n'
        f"last_day = {LAST}\n{stations}"
    )
