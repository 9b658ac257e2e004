"""What kind of sheet this is, and which station, week and recorder it speaks for."""

import re
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import polars as pl

from pipeline.intake.kinds import Kind, kinds, normal_heading
from pipeline.intake.read import Cells, NotRead


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """What a sheet is: its kind and what it is a version of; the journal keeps it.

    `season`: code, or "" for a register, which every open season holds. `slot`: the text that two
    versions of one sheet share.
    """

    kind: str
    season: str
    station: str
    week: str
    recorder: str
    slot: str


def match_headings(kind: Kind, headings: tuple[str, ...]) -> dict[str, int]:
    """Return for each column of the kind the position of its heading; the first one wins."""
    places: dict[str, int] = {}
    spoken = [normal_heading(heading) for heading in headings]
    for column in kind.columns:
        accepted = {normal_heading(heading) for heading in column.headings}
        for position, heading in enumerate(spoken):
            if heading in accepted and position not in places.values():
                places[column.name] = position
                break
    return places


def kind_of(cells: Cells) -> Kind:
    """Return the kind whose headings fit best; NotRead where none fits at least by half."""

    def fit(kind: Kind) -> tuple[int, float, int]:
        # Headings that fit less needed ones that lack: a kind of few columns must not win by
        # having all of its own where another, short of one, explains more of the sheet.
        places = match_headings(kind, cells.headings)
        required = [column.name for column in kind.columns if column.required]
        found = sum(name in places for name in required)
        return len(places) - (len(required) - found), found / len(required), len(places)

    best = max(kinds().values(), key=fit)
    _, share, matched = fit(best)
    if share < 0.5 or matched * 2 < len([h for h in cells.headings if h.strip()]):
        raise NotRead(
            "unknown-kind",
            f"No kind of sheet has these headings: {', '.join(cells.headings[:6])}. "
            "Compare with sample_inputs/README.md and send it again with its headings.",
        )
    return best


def missing_columns(kind: Kind, places: dict[str, int]) -> list[str]:
    """Return the titles of the required columns that the sheet has no heading for."""
    return [c.title for c in kind.columns if c.required and c.name not in places]


def week_of(day: date) -> str:
    """Return the ISO week of a day: 2026-03-30 is in 2026-W14."""
    year, week, _ = day.isocalendar()
    return f"{year}-W{week:02d}"


def named_week(name: str) -> tuple[date, date] | None:
    """Return first and last day of the ISO week that a file's name gives, if it gives one."""
    named = re.search(r"(?<!\d)(20\d\d)-?W(\d\d)(?!\d)", Path(name).name)
    if named is None:
        return None
    try:
        monday = date.fromisocalendar(int(named[1]), int(named[2]), 1)
    except ValueError:
        return None
    return monday, monday + timedelta(days=6)


def speaks_for(
    kind: Kind, name: str, rows: pl.DataFrame, seasons: dict[str, tuple[date, date]]
) -> Sheet:
    """Work out season, station, week and recorder of a sheet from its name and its typed rows.

    A week in the file's name counts before the dates inside; a station or recorder counts where
    the sheet names one only. NotRead where no season can be told.
    """
    station = _only(rows, "station")
    recorder = _only(rows, "recorder")
    days = rows[kind.day].drop_nulls() if kind.day else pl.Series(dtype=pl.Date)
    named = re.search(r"(?<!\d)(20\d\d)-?W(\d\d)(?!\d)", Path(name).name)
    week = f"{named[1]}-W{named[2]}" if named else _commonest_week(days)
    season = _season_of(days, week, seasons) if kind.day else ""
    parts = {"station": station, "week": week, "recorder": recorder}
    slot = "|".join([kind.name, *(parts[part] for part in kind.slot)])
    return Sheet(
        kind=kind.name, season=season, station=station, week=week, recorder=recorder, slot=slot
    )


def _only(rows: pl.DataFrame, column: str) -> str:
    if column not in rows.columns:
        return ""
    # The commonest, not the only one: one mistyped cell must not make it another sheet.
    counted = rows[column].drop_nulls().value_counts(sort=True)
    if not counted.height or counted["count"][0] * 2 <= rows.height:
        return ""
    return str(counted[column][0])


def _commonest_week(days: pl.Series) -> str:
    if not days.len():
        return ""
    counted = days.value_counts(sort=True).sort("count", days.name, descending=[True, False])
    return week_of(counted[days.name][0])


def _season_of(days: pl.Series, week: str, seasons: dict[str, tuple[date, date]]) -> str:
    """Return the season that holds most of the days, else the one that holds the week."""
    held = {
        code: int(days.is_between(first, last).sum()) for code, (first, last) in seasons.items()
    }
    best = max(held, key=lambda code: held[code])
    if held[best]:
        return best
    if week:
        monday = date.fromisocalendar(int(week[:4]), int(week[6:]), 1)
        for code, (first, last) in seasons.items():
            if first <= monday <= last:
                return code
    if len(seasons) == 1:
        return best
    raise NotRead(
        "no-season",
        "None of its dates falls in a season that book.toml declares. "
        "Correct the dates, or put the week (2026-W14) in the file's name.",
    )
