"""Where a flag comes from: its cell among its neighbours, limits, its peers, the member's past."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cache
from importlib import resources
from typing import Any

import duckdb

from checks.limits import applied, limits
from checks.rules import BY_CODE
from pipeline.explain.sheets import Line, SheetReader, written_lines
from pipeline.intake.kinds import Kind, kinds
from pipeline.intake.stored import DECIMALS
from pipeline.printed import kg, plain
from pipeline.season.flags import Flag
from pipeline.season.tables import dicts, rows
from pipeline.settings import Settings

# Finds something over the whole season, or gives what was found before under the same name.
Remembered = Callable[[str, Callable[[duckdb.DuckDBPyConnection], dict[Any, Any]]], dict[Any, Any]]

# Nobody is compared with fewer than this.
LEAST_PEERS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitShown:
    """A limit that the rule compared with; `value` is None where the book sets none."""

    name: str
    value: Decimal | None
    unit: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Peers:
    """How a column's values lie among `n` counted rows alike: quartiles, and their ends."""

    title: str
    among: str
    unit: str
    n: int
    low: Decimal
    lower: Decimal
    middle: Decimal
    upper: Decimal
    high: Decimal

    @property
    def spread(self) -> list[tuple[str, str]]:
        """Each of the five in words and as printed, the lowest first."""
        named = (
            ("lowest", self.low),
            ("a quarter are below", self.lower),
            ("middle", self.middle),
            ("a quarter are above", self.upper),
            ("highest", self.high),
        )
        return [(word, f"{plain(value)} {self.unit}".strip()) for word, value in named]


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighing:
    """One weighing of the member's season; `here`: it is the row in question. Net in kg."""

    day: date
    net_kg: Decimal
    state: str
    here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """What a member brought this season, day by day."""

    member_no: str
    name: str
    weighings: list[Weighing]

    @property
    def words(self) -> str:
        """How many weighings, and between which weights: one sentence."""
        counted = [one.net_kg for one in self.weighings if one.state == "counted"]
        span = f", of {plain(min(counted))} to {kg(max(counted))}" if counted else ""
        return f"{len(self.weighings)} weighings this season, {len(counted)} counted{span}."


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """All that is known about one flag.

    `facts`: what the rule saw, by name, as text. `around`: rows of the sheet under `headings`,
    none where the sheet cannot be read now. `day`: the civil day of the row.
    """

    facts: dict[str, str | None]
    limits: list[LimitShown]
    source: str
    headings: list[str]
    around: list[Line]
    peers: Peers | None
    past: Past | None
    day: date | None


def evidence(
    con: duckdb.DuckDBPyConnection,
    settings: Settings,
    flag: Flag,
    reader: SheetReader,
    remembered: Remembered | None = None,
) -> Evidence:
    """Return all that a season file and the kept sheet say about one of the season's flags.

    `remembered`: gives what was found once under a name, for one who looks at many flags.
    """
    kind = kinds()[flag.kind]
    facts: dict[str, str | None] = json.loads(
        rows(con, "select cast(facts as varchar) from flags where flag = ?", [flag.flag])[0][0]
    )
    part = rows(con, "select part from sheets where sheet_no = ?", [flag.sheet_no])[0][0]
    cells = reader.cells(flag.sha256, part, settings)
    headings, around = written_lines(kind, cells, flag.row, flag.col) if cells else ([], [])
    member_no, day = _member_and_day(con, kind, flag)
    return Evidence(
        facts=facts,
        limits=_limits(settings, flag, facts),
        source=BY_CODE[flag.rule].source,
        headings=headings,
        around=around,
        peers=_peers(con, kind, flag, settings, remembered or (lambda _, find: find(con))),
        past=_past(con, member_no, flag) if member_no else None,
        day=day,
    )


def _limits(settings: Settings, flag: Flag, facts: dict[str, str | None]) -> list[LimitShown]:
    zones = {station.code: station.zone for station in settings.stations}
    found: list[LimitShown] = []
    for name in BY_CODE[flag.rule].limits:
        held = applied(
            name,
            settings.limits,
            species=facts.get("species") or "",
            form=facts.get("form") or "",
            station=flag.station,
            zone=zones.get(flag.station, ""),
        )
        stated = facts.get(name)
        found.append(
            LimitShown(
                name=name,
                value=held.value if stated is None else Decimal(str(stated)),
                unit=limits()[name].unit,
                source=held.source,
            )
        )
    return found


def _peers(
    con: duckdb.DuckDBPyConnection,
    kind: Kind,
    flag: Flag,
    settings: Settings,
    remembered: Remembered,
) -> Peers | None:
    """Return how a flag's number lies among the counted rows of the same station and form."""
    column = next((c for c in kind.columns if c.name == flag.col), None)
    if column is None or column.type not in (*DECIMALS, "money", "integer"):
        return None
    alike = [name for name in ("station", "species", "form") if kind.has(name)]
    # Only names of our own declarations stand in the text.
    cell, own = column.stored, ", ".join(alike)
    spread = (
        f"select {own}{',' * bool(alike)} count({cell}) as n, min({cell}) as low, "
        f"quantile_disc({cell}, 0.25) as lower, quantile_disc({cell}, 0.5) as middle, "
        f"quantile_disc({cell}, 0.75) as upper, max({cell}) as high from {kind.name} "
        f"where state = 'counted'{' group by ' * bool(alike)}{own}"
    )
    groups = remembered(
        f"peers {kind.name} {cell}",
        lambda con: {tuple(row[name] for name in alike): row for row in dicts(con, spread)},
    )
    text = f"select {own or 'null'} from rows_{kind.name} where sheet_no = ? and row_no = ?"
    here = rows(con, text, [flag.sheet_no, flag.row])
    row = groups.get(here[0][: len(alike)]) if here else None
    if row is None or row["n"] < LEAST_PEERS:
        return None
    among = ", ".join(str(row[name]).replace("_", " ") for name in alike if row[name])
    scale = -settings.decimals if column.type == "money" else 0
    low, lower, middle, upper, high = (
        Decimal(str(row[key])).scaleb(scale) for key in ("low", "lower", "middle", "upper", "high")
    )
    return Peers(
        title=column.title,
        among=among or "the whole season",
        unit=settings.currency if column.type == "money" else column.unit,
        n=row["n"],
        low=low,
        lower=lower,
        middle=middle,
        upper=upper,
        high=high,
    )


def _past(con: duckdb.DuckDBPyConnection, member_no: str, flag: Flag) -> Past | None:
    found = dicts(con, _sql("member_past"), {"member": member_no})
    place = (flag.sheet_no, flag.row) if flag.kind == "weighings" else None
    weighings = [
        Weighing(
            day=row["day"],
            net_kg=row["net_kg"],
            state=row["state"],
            here=(row["sheet_no"], row["row_no"]) == place,
        )
        for row in found
        if row["day"] is not None and row["net_kg"] is not None
    ]
    if not weighings:
        return None
    known = rows(con, "select name from known_members where member_no = ?", [member_no])
    return Past(member_no=member_no, name=known[0][0] if known else "", weighings=weighings)


def _member_and_day(
    con: duckdb.DuckDBPyConnection, kind: Kind, flag: Flag
) -> tuple[str, date | None]:
    """Return the member a flag's row names, "" for none, and the row's civil day."""
    member = "member_no" if kind.has("member_no") else "null"
    found = rows(
        con,
        f"select {member}, {kind.day or 'null'} from rows_{kind.name} "
        "where sheet_no = ? and row_no = ?",
        [flag.sheet_no, flag.row],
    )
    return (found[0][0] or "", found[0][1]) if found else ("", None)


@cache
def _sql(name: str) -> str:
    return resources.files("pipeline.explain").joinpath(f"sql/{name}.sql").read_text("utf-8")
