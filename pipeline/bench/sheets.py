"""Clean sheets to measure with: weighings of invented seasons, as one file, many, or a workbook."""

from collections.abc import Iterator
from pathlib import Path

import polars as pl

from pipeline.samples import sheets
from pipeline.samples.land import land
from pipeline.samples.people import members, stations
from pipeline.samples.season import receipts, weighings

# Rows that are drawn together; more come from another draw, so that memory stays small.
DRAWN_ROWS = 250_000
STATIONS = 8
WEEKS = 26


def _drawn(seed: int, rows: int) -> pl.DataFrame:
    """Return the text of at least so many weighings: about four and a half of a member."""
    sites = stations(STATIONS)
    register = members(seed, sites, max(STATIONS, rows // 4))
    crop_kg = land(seed, register).crop_kg
    slips = receipts(seed, sites, register, crop_kg, weeks=WEEKS, late_week=False, per_member=3)
    return sheets.as_text("weighings", weighings(seed, sites, register, slips).frame)


def weighing_rows(rows: int, seed: int) -> Iterator[pl.DataFrame]:
    """Yield `rows` weighings as text under their headings, in blocks."""
    while rows > 0:
        block = _drawn(seed, min(rows, DRAWN_ROWS)).head(rows)
        if block.is_empty():
            raise ValueError(f"{rows} rows are too few to be drawn. Ask for more.")
        yield block
        rows -= block.height
        seed += 1


def write_one(path: Path, rows: int, seed: int) -> None:
    """Write the rows as one CSV file."""
    with path.open("wb") as file:
        for number, block in enumerate(weighing_rows(rows, seed)):
            block.write_csv(file, include_header=not number)


def write_many(folder: Path, rows: int, files: int, seed: int) -> list[Path]:
    """Write the same rows in the same order as up to `files` files; return them in that order."""
    folder.mkdir()
    height = -(-rows // files)
    found: list[Path] = []
    rest: pl.DataFrame | None = None
    for block in weighing_rows(rows, seed):
        rest = block if rest is None else pl.concat([rest, block])
        while rest.height >= height:
            found.append(_numbered(folder, len(found), rest.head(height)))
            rest = rest.slice(height)
    if rest is not None and rest.height:
        found.append(_numbered(folder, len(found), rest))
    return found


def _numbered(folder: Path, number: int, rows: pl.DataFrame) -> Path:
    path = folder / f"weighings_{number:05d}.csv"
    rows.write_csv(path)
    return path


def write_narrow(path: Path, rows: int, columns: int, seed: int) -> None:
    """Write the first columns of the rows, every cell in quotation marks."""
    with path.open("wb") as file:
        for number, block in enumerate(weighing_rows(rows, seed)):
            block.select(block.columns[:columns]).write_csv(
                file, include_header=not number, quote_style="always"
            )


def write_workbook(path: Path, rows: int, seed: int) -> None:
    """Write the rows as an XLSX workbook with numbers and days as spreadsheets hold them."""
    block = pl.concat(list(weighing_rows(rows, seed)))
    numbers = [name for name in block.columns if name.endswith((" kg", " %"))]
    whole = ["Receipt", "Line", "Member", "Grade", "Bags"]
    block.with_columns(
        pl.col(numbers).cast(pl.Float64), pl.col(whole).cast(pl.Int64), pl.col("Date").str.to_date()
    ).write_excel(path)
