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
KEPT_SHEETS = 8
# Nobody is compared with fewer than this.
LEAST_PEERS = 5


class SheetReader:
    """Reads kept sheets as they were written, and remembers the last few."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self._lock = Lock()
        self._read: OrderedDict[tuple[str, str], Cells] = OrderedDict()

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
            self._read[named] = cells
            while len(self._read) > KEPT_SHEETS:
                self._read.popitem(last=False)
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
    same = "".join(f" and p.{name} is not distinct from t.{name}" for name in alike)
    text = (
        f"select {''.join(f'any_value(t.{name}) as {name}, ' for name in alike)}"
        f"count(p.{column.stored}) as n, min(p.{column.stored}) as low, "
        f"quantile_disc(p.{column.stored}, 0.25) as lower, "
        f"quantile_disc(p.{column.stored}, 0.5) as middle, "
        f"quantile_disc(p.{column.stored}, 0.75) as upper, max(p.{column.stored}) as high "
        f"from rows_{kind.name} t join {kind.name} p on p.state = 'counted'{same} "
        "where t.sheet_no = ? and t.row_no = ?"
    )
    with one.cursor() as con:
        found = dicts(con, text, [flag.sheet_no, flag.row])
    if not found or not found[0]["n"] or found[0]["n"] < LEAST_PEERS:
        return None
    row = found[0]
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
