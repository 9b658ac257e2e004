"""Plants some faults in the weighings of a drawn season, so that every check has rows to find."""

from pathlib import Path

import polars as pl

from pipeline.bench.season import by_kind

# One row in so many has each fault.
EVERY = 1_500
# By heading: what a row's cell becomes.
FAULTS: tuple[dict[str, pl.Expr], ...] = (
    {"Member": pl.lit("1")},
    {"Date": pl.lit("2025-01-06")},
    {"Date": pl.lit("2026-12-30")},
    {"Scale": pl.lit("NONE-1")},
    {"Station": pl.lit("NOWHERE")},
    {"Moisture %": pl.lit("41")},
    {"Moisture %": pl.lit("14.9")},
    {"Net kg": pl.lit("1.5")},
    {"Net kg": pl.lit("-20")},
    {"Gross kg": pl.lit("9999")},
    {"Tare kg": pl.col("Gross kg")},
    {"Gross kg": pl.lit(None, pl.String)},
    {"Gross kg": pl.col("Gross kg") + "3"},
    {name: pl.col(name).shift(1) for name in ("Book", "Receipt", "Line")},
    {"Scale": pl.when(pl.col("Station") == "KES").then(pl.lit("ARD-1")).otherwise(pl.lit("KES-1"))},
)


def plant_faults(folder: Path) -> int:
    """Write the faults into a season's weighings; return how many rows have one."""
    place = planted = 0
    for path in by_kind(folder)["weighings"]:
        sheet = pl.read_csv(path, infer_schema=False)
        number = (pl.int_range(pl.len()) + place) % EVERY
        place += sheet.height
        step = EVERY // len(FAULTS)
        for n, fault in enumerate(FAULTS):
            here = (number == n * step) & (pl.int_range(pl.len()) > 0)
            planted += sheet.select(here.sum()).item()
            sheet = sheet.with_columns(
                pl.when(here).then(value).otherwise(heading).alias(heading)
                for heading, value in fault.items()
            )
        sheet.write_csv(path)
    return planted
