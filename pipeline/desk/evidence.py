"""All that is known about one flag: its cell among its neighbours, the member's past, its peers."""

from collections import OrderedDict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from threading import Lock
from typing import Any

from checks.limits import applied, limits
from checks.rules import BY_CODE
from pipeline.book.book import Book
from pipeline.desk import say
from pipeline.desk.chart import Point, past_chart
from pipeline.desk.generation import Generation
from pipeline.errors import DamageError
from pipeline.intake.cells import DECIMALS
from pipeline.intake.found import Cells, NotRead
from pipeline.intake.kinds import Column, Kind, kinds
from pipeline.intake.read import read_cells
from pipeline.intake.recognise import match_headings
from pipeline.season.flags import Flag
from pipeline.season.tables import dicts, rows
from pipeline.settings import Settings

# Rows shown above and below the one in question.
AROUND = 3
# Sheets are remembered up to so many bytes of cells: a season's usual ones all together.
KEPT_BYTES = 256 << 20
# Nobody is compared with fewer than this.
LEAST_PEERS = 5


class SheetReader:
    """Reads kept sheets as they were written, and remembers what was looked at last."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self._lock = Lock()
        self._read: OrderedDict[tuple[str, str], Cells] = OrderedDict()
        self._bytes = 0

    @property
    def full(self) -> bool:
        """Tell whether another sheet would take the place of one that is remembered."""
        return self._bytes > KEPT_BYTES * 9 // 10

    def cells(self, sha256: str, part: str, settings: Settings) -> Cells | None:
        """Return a sheet's cells, or None where it cannot be read now."""
        named = (sha256, part)
        with self._lock:
            if named in self._read:
                self._read.move_to_end(named)
                return self._read[named]
        try:
            cells = read_cells(self.book.sheet(sha256), part, settings.intake.lifted())
        except (NotRead, DamageError):
            return None
        with self._lock:
            if named not in self._read:
                self._read[named] = cells
                self._bytes += cells.frame.estimated_size()
            while self._bytes > KEPT_BYTES and len(self._read) > 1:
                _, gone = self._read.popitem(last=False)
                self._bytes -= gone.frame.estimated_size()
        return cells


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A row of a sheet as written: its number, its cells, and which of them is in question."""

    row_no: int
    cells: list[str]
    here: bool
    marked: int


def written_lines(kind: Kind, cells: Cells, row_no: int, col: str) -> tuple[list[str], list[Line]]:
    """Return the headings and the rows around one, as the sheet wrote them."""
    places = match_headings(kind, cells.headings)
    numbers = cells.frame["row_no"].to_list()
    at = numbers.index(row_no) if row_no in numbers else 0
    near = cells.frame.slice(max(0, at - AROUND), 2 * AROUND + 1)
    shown = masks(kind, cells)
    lines = [
        Line(
            row_no=row["row_no"],
            cells=[shown(place, row[f"c{place}"] or "") for place in range(len(cells.headings))],
            here=row["row_no"] == row_no,
            marked=places.get(col, -1),
        )
        for row in near.iter_rows(named=True)
    ]
    return list(cells.headings), lines


def masks(kind: Kind, cells: Cells) -> Any:
    """Return what shows a cell: telephone and account numbers but for their last digits."""
    columns = {
        place: kind.column(name) for name, place in match_headings(kind, cells.headings).items()
    }

    def shown(place: int, text: str) -> str:
        column = columns.get(place)
        return column.shown(text) if column else text

    return shown


def member_past(one: Generation, member_no: str, flag: Flag) -> dict[str, Any] | None:
    """Return a member's deliveries of the season as a small chart and in words, or None."""
    found = one.ask("member_past", member=member_no)
    if not found:
        return None
    here = (flag.sheet_no, flag.row) if flag.kind == "weighings" else None
    points = [
        Point(
            on=row["day"],
            amount=row["net_kg"],
            here=(row["sheet_no"], row["row_no"]) == here,
            counted=row["state"] == "counted",
        )
        for row in found
        if row["day"] is not None and row["net_kg"] is not None
    ]
    counted = [row["net_kg"] for row in found if row["state"] == "counted" and row["net_kg"]]
    words = (
        f"{len(found)} weighings this season, {len(counted)} counted"
        + (f", of {say.plain(min(counted))} to {say.kg(max(counted))}" if counted else "")
        + "."
    )
    return {
        "name": one.near_names(member_no),
        "member_no": member_no,
        "words": words,
        "chart": past_chart(points),
    }


def peers(one: Generation, flag: Flag) -> dict[str, Any] | None:
    """Return how a flag's number lies among the counted rows of the same station and form."""
    kind = kinds()[flag.kind]
    column = next((c for c in kind.columns if c.name == flag.col), None)
    if column is None or column.type not in (*DECIMALS, "money", "integer"):
        return None
    alike = [name for name in ("station", "species", "form") if kind.has(name)]
    # Only names of our own declarations stand in the text.
    own = ", ".join(alike)
    with one.cursor() as con:
        here = rows(
            con,
            f"select {own or 'null'} from rows_{kind.name} where sheet_no = ? and row_no = ?",
            [flag.sheet_no, flag.row],
        )
    row = one.remembered(
        f"peers {kind.name} {column.stored}",
        lambda con: {
            tuple(found[name] for name in alike): found
            for found in dicts(
                con,
                f"select {own}{',' * bool(alike)} count({column.stored}) as n, "
                f"min({column.stored}) as low, max({column.stored}) as high, "
                f"quantile_disc({column.stored}, 0.25) as lower, "
                f"quantile_disc({column.stored}, 0.5) as middle, "
                f"quantile_disc({column.stored}, 0.75) as upper from {kind.name} "
                f"where state = 'counted'{' group by ' * bool(alike)}{own}",
            )
        },
    ).get(tuple(here[0][: len(alike)]) if here else ())
    if row is None or row["n"] < LEAST_PEERS:
        return None
    among = ", ".join(str(row[name]).replace("_", " ") for name in alike if row[name])
    return {
        "title": column.title,
        "among": among or "the whole season",
        "n": say.plain(row["n"]),
        "spread": [
            (word, _shown(row[key], column, one.settings))
            for word, key in (
                ("lowest", "low"),
                ("a quarter are below", "lower"),
                ("middle", "middle"),
                ("a quarter are above", "upper"),
                ("highest", "high"),
            )
        ],
    }


def _shown(value: Any, column: Column, settings: Settings) -> str:
    if column.type == "money":
        return say.money(value, settings)
    text = say.plain(value if isinstance(value, Decimal | int) else Decimal(str(value)))
    return f"{text} {column.unit}".strip()


def rule_limits(one: Generation, flag: Flag) -> list[dict[str, str]]:
    """Return each limit that a flag's rule compared with: value, unit, source and its date."""
    facts = one.facts(flag.flag)
    found: list[dict[str, str]] = []
    for name in BY_CODE[flag.rule].limits:
        limit = limits()[name]
        held = applied(
            name,
            one.settings.limits,
            species=facts.get("species") or "",
            form=facts.get("form") or "",
            station=flag.station,
        )
        value = facts.get(name) or held.value
        found.append(
            {
                "name": name.replace("_", " "),
                "value": say.plain(Decimal(str(value))) if value is not None else "",
                "unit": limit.unit,
                "source": held.source,
                "date": limit.date,
            }
        )
    return found


def member_and_day(one: Generation, flag: Flag) -> tuple[str, date | None]:
    """Return the member a flag's row names, "" for none, and the row's civil day."""
    kind = kinds()[flag.kind]
    member = "member_no" if kind.has("member_no") else "null"
    with one.cursor() as con:
        found = rows(
            con,
            f"select {member}, {kind.day or 'null'} from rows_{kind.name} "
            "where sheet_no = ? and row_no = ?",
            [flag.sheet_no, flag.row],
        )
    return (found[0][0] or "", found[0][1]) if found else ("", None)
