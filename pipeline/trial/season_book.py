"""A drawn season sent through the real path: its sheets are written, taken by week and checked."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import polars as pl

from pipeline.book.book import Book, new_book
from pipeline.samples.sheets import as_text, book_toml, headings, week_name
from pipeline.season.flag_frame import flags
from pipeline.season.flags import Flag
from pipeline.season.generations import must_have
from pipeline.season.tables import connect
from pipeline.take import take_by_day
from pipeline.trial.honest import FIRST_DAY, REGISTERS, WEEKS, Row, Season
from pipeline.trial.planting import Place

SEASON, DECIMALS = "2026", 2
TAKEN_BY, AT = "trial", "2026-12-01T08:00:00Z"
FIRST_ROW = 2  # As a spreadsheet shows it: the headings are row 1.


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A flag of the season, and the row of the trial that it stands on."""

    flag: Flag
    place: Place


def flags_of(
    folder: Path,
    season: Season,
    texts: dict[tuple[str, int, str], str] | None = None,
    gone: Iterable[Place] = (),
) -> list[Seen]:
    """Send a season through a new book in `folder`; return its flags in the queue's own order.

    `texts`: cells (kind, row, column) that say something else than their row's value; `gone`: rows
    that were never sent in.
    """
    folder.mkdir(parents=True)
    settings = book_toml(season.places, WEEKS, picked_before=False)
    book = new_book(folder / "book", settings, AT)
    origin: dict[tuple[str, int], Place] = {}
    days: dict[date, list[Path]] = {}
    (folder / "sheets").mkdir()
    for (kind, week, at), places, sheet in _sheets(season, texts or {}, set(gone)):
        path = folder / "sheets" / _name(kind, week, at)
        sheet.write_csv(path)
        late = season.late.get((kind, week, at), 0)
        days.setdefault(FIRST_DAY + timedelta(weeks=week + 1 + late), []).append(path)
        for position, place in enumerate(places):
            origin[path.name, position + FIRST_ROW] = place
    take_by_day(book, sorted(days.items()), by=TAKEN_BY)
    return _seen(book, origin)


def _sheets(
    season: Season, texts: dict[tuple[str, int, str], str], gone: set[Place]
) -> Iterator[tuple[tuple[str, int, str], list[Place], pl.DataFrame]]:
    """Yield each sheet: kind, week and station, the places of its rows, and its text."""
    for kind in sorted(season.rows, key=lambda kind: kind not in REGISTERS):
        text = _text(kind, season.rows[kind], texts)
        sheets: dict[tuple[str, int, str], list[int]] = {}
        for row in season.rows[kind]:
            if (kind, row["_id"]) not in gone:
                sheets.setdefault((kind, row["_week"], row["_at"]), []).append(row["_id"])
        for sheet, ids in sheets.items():
            yield sheet, [(kind, n) for n in ids], text[ids]


def _name(kind: str, week: int, at: str) -> str:
    parts = [kind, at, week_name(week) if week >= 0 else ""]
    return "_".join(part for part in parts if part) + ".csv"


def _text(kind: str, rows: list[Row], texts: dict[tuple[str, int, str], str]) -> pl.DataFrame:
    text = as_text(kind, pl.DataFrame(rows, infer_schema_length=None))
    for (of, n, column), said in texts.items():
        if of == kind:
            heading = headings(kind)[column]
            cell = pl.when(pl.int_range(pl.len()) == n).then(pl.lit(said)).otherwise(heading)
            text = text.with_columns(cell.alias(heading))
    return text


def _seen(book: Book, origin: dict[tuple[str, int], Place]) -> list[Seen]:
    with connect(str(must_have(book, SEASON))) as con:
        return [
            Seen(flag=flag, place=origin[flag.sheet, flag.row])
            for flag in flags(con, DECIMALS)
            if (flag.sheet, flag.row) in origin
        ]
