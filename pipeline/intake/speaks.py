"""Which station, week, recorder and season a sheet speaks for, or what must be asked."""

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from datetime import date
from typing import Any

import polars as pl

from pipeline.intake.found import Doubtful, NotRead
from pipeline.intake.kinds import Kind
from pipeline.intake.periods import WEEK, span_of

# The columns, beside those of days, that tell what a sheet speaks for.
SPEAKING = ("station", "recorder")


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What somebody said about a sheet that was doubtful; "" where nothing was said.

    `part`: the worksheet or archive member that is meant, "" for all of the file.
    """

    kind: str = ""
    station: str = ""
    week: str = ""
    recorder: str = ""
    only_adds: bool = False
    part: str = ""

    def said(self) -> dict[str, object]:
        """Return what was said, for the journal."""
        given = {one.name: getattr(self, one.name) for one in fields(self)}
        return {name: value for name, value in given.items() if value and name != "part"}


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


@dataclass(frozen=True, slots=True)
class Spoken:
    """What the typed rows of one sheet say: how many name which station, recorder and day.

    Only of rows that are not damaged, where there are any; `height` counts these.
    """

    height: int = 0
    stations: Mapping[str, int] = field(default_factory=dict[str, int])
    recorders: Mapping[str, int] = field(default_factory=dict[str, int])
    days: Mapping[date, int] = field(default_factory=dict[date, int])


def speaking(kind: Kind) -> Kind:
    """Return a kind with those columns only that tell what its sheets speak for."""
    names = (*SPEAKING, kind.day, kind.until)
    return replace(kind, columns=tuple(c for c in kind.columns if c.name in names))


def spoken_by_sheet(
    kind: Kind, rows: pl.DataFrame, no_recorders: Collection[str] = ()
) -> dict[int, Spoken]:
    """Return by sheet_no what the typed rows of many sheets say, the commonest first.

    `rows`: perhaps with `whole`, false where cells stand beyond the headings. `no_recorders`: codes
    of scales and stations, which stand under that heading only where cells are shifted.
    """
    found: dict[int, Spoken] = {}
    for (sheet_no,), own in rows.partition_by("sheet_no", as_dict=True).items():
        # Of a sheet without a row that can be believed, all are: by what most of them say a mended
        # copy finds the sheet that it mends.
        sound = own.filter(pl.col("whole")) if "whole" in own.columns else own
        sound = sound.drop_nulls(kind.day) if kind.day in own.columns else sound
        believed = sound if sound.height else own
        days = (kind.day, kind.until)
        told = {
            column: (own if column in days else believed)[column].value_counts().iter_rows()
            for column in (*SPEAKING, *days)
            if column in own.columns
        }
        found[int(sheet_no)] = said_by(kind, believed.height, told, no_recorders)
    return found


def said_by(
    kind: Kind,
    height: int,
    told: Mapping[str, Iterable[tuple[Any, int]]],
    no_recorders: Collection[str] = (),
) -> Spoken:
    """Return what the rows of a sheet say.

    `told`: by column its values, each with how many rows have it; otherwise as `spoken_by_sheet`.
    """
    recorders = {
        name: count
        for name, count in _counted(told, "recorder").items()
        if any(map(str.isalpha, name)) and name.upper() not in no_recorders
    }
    days = _counted(told, kind.day, kind.until)
    return Spoken(height, _ordered(_counted(told, "station")), _ordered(recorders), _ordered(days))


def _counted(told: Mapping[str, Iterable[tuple[Any, int]]], *columns: str) -> dict[Any, int]:
    found: dict[Any, int] = {}
    for column in columns:
        for value, count in told.get(column, ()):
            if value is not None:
                found[value] = found.get(value, 0) + count
    return found


def _ordered(counted: Mapping[Any, int]) -> dict[Any, int]:
    return dict(sorted(counted.items(), key=lambda item: (-item[1], item[0])))


def speaks_for(
    kind: Kind,
    name: str,
    rows: Spoken,
    seasons: dict[str, tuple[date, date]],
    *,
    stations: Sequence[str] = (),
    titles: Iterable[str] = (),
    answer: Answer | None = None,
) -> Sheet:
    """Work out season, station, week and recorder of a sheet from its name, titles and typed rows.

    An answer counts first. A week in the file's name counts before the dates inside; a station
    counts where most of its rows name it, a recorder where most rows that name one do.
    Doubtful where station or week contradict each other and the kind's sheets are told apart by
    them; NotRead without a season.
    """
    answer = answer or Answer()
    evidence = [name, *titles]
    station = answer.station or _station(kind, evidence, rows, stations)
    recorder = answer.recorder or _commonest(rows.recorders, sum(rows.recorders.values()))
    week = answer.week or span_of(kind, evidence, rows.days)
    season = _season_of(rows.days, week, seasons) if kind.day else ""
    parts = {"station": station, "week": week, "recorder": recorder}
    slot = "|".join([kind.name, *(parts[part] for part in kind.slot)])
    return Sheet(
        kind=kind.name, season=season, station=station, week=week, recorder=recorder, slot=slot
    )


def _station(kind: Kind, evidence: list[str], rows: Spoken, stations: Sequence[str]) -> str:
    """Return the station of most rows, else the one named; Doubtful where they differ."""
    named = _named(evidence, stations)
    common = _commonest(rows.stations, rows.height)
    if "station" not in kind.slot:
        return common
    inside = rows.stations
    if common and len(named) == 1 and named[0] != common and named[0] not in inside:
        likely = (common, named[0])
        raise Doubtful("station", "doubtful-station", named[0], common, answers=likely)
    if common or (len(named) == 1 and not inside):
        return common or named[0]
    likely = tuple(inside)[:5] or tuple(named) or tuple(stations)
    if not likely:
        return ""
    told = ", ".join(f"{code} ({count})" for code, count in list(inside.items())[:5])
    choose = (likely[0], ", ".join(likely))
    if not told:
        raise Doubtful("station", "doubtful-station-none", *choose, answers=likely)
    raise Doubtful("station", "doubtful-station-rows", told, *choose, answers=likely)


def _named(evidence: list[str], stations: Sequence[str]) -> list[str]:
    """Return the stations that some of the texts name as a word of its own."""
    folded = "\n".join(evidence).casefold()
    words = {
        code: re.compile(rf"(?<![^\W_]){re.escape(code)}(?![^\W_])", re.IGNORECASE)
        for code in stations
        if code.casefold() in folded
    }
    return [code for code, word in words.items() if any(word.search(text) for text in evidence)]


def _commonest(counted: Mapping[str, int], height: int) -> str:
    # The commonest, not the only one: one mistyped cell must not make it another sheet.
    best = next(iter(counted), "")
    return best if best and counted[best] * 2 > height else ""


def _season_of(days: Mapping[date, int], week: str, seasons: dict[str, tuple[date, date]]) -> str:
    """Return the season that holds most of the days, else the one that holds the week."""
    held = {
        code: sum(count for day, count in days.items() if first <= day <= last)
        for code, (first, last) in seasons.items()
    }
    best = max(held, key=lambda code: held[code])
    if held[best]:
        return best
    if found := WEEK.search(week):
        monday = date.fromisocalendar(int(found[1]), int(found[2]), 1)
        for code, (first, last) in seasons.items():
            if first <= monday <= last:
                return code
    if len(seasons) == 1:
        return best
    raise NotRead("no-season")
