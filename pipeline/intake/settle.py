"""How a sheet as a whole is to be read: decimal mark, order of dates, day numbers, units.

What the sheet's own cells can only mean comes first; then what lies inside the week that its name
gives, or inside a season, or what a declared scale can weigh; then what book.toml declares. What
even that leaves open is open, and its cells are sent back.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

import polars as pl

from pipeline.intake.dates import ORDER_WORDS, DateCell, read_date
from pipeline.intake.found import Note
from pipeline.intake.kinds import Column, Kind
from pipeline.intake.numbers import COMMA, MARK_WORDS, POINT, only_mark, readings, take_apart
from pipeline.intake.odd import NUMBERS
from pipeline.intake.units import other_units
from pipeline.settings import Settings

# A habit stands though a few cells are against it: one in twenty, which are then sent back.
SLIPS = 20
EITHER = "either"

Days = tuple[date, date]


@dataclass(frozen=True, slots=True)
class Front:
    """What a sheet says outside its cells.

    `headings`: its own heading by column name, from left to right; `days`: first and last day of
    the week that its file's name gives.
    """

    headings: Mapping[str, str] = field(default_factory=dict[str, str])
    days: Days | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetForm:
    """How one sheet is read.

    `decimal`: "." or ",", "" where that is open. `dates`: "dmy", "mdy" or "ymd", "" where open.
    `serials`: columns of spreadsheet day numbers. `units`: the unit each heading names, several
    joined by "/". `notes`: what was settled, how, and what was not.
    """

    decimal: str = POINT
    dates: str = ""
    serials: frozenset[str] = frozenset()
    units: Mapping[str, str] = field(default_factory=dict[str, str])
    notes: tuple[Note, ...] = ()


def settle(
    kind: Kind,
    headings: Mapping[str, str],
    frame: pl.DataFrame,
    settings: Settings,
    days: Days | None = None,
) -> SheetForm:
    """Settle how one sheet is read.

    `headings`: its own heading by column name; `frame`: its cells as text under the column names.
    """
    alone = frame.with_columns(pl.lit(0, pl.Int32).alias("sheet_no"))
    return settle_sheets(kind, {0: Front(headings, days)}, alone, settings)[0]


def settle_sheets(
    kind: Kind, fronts: Mapping[int, Front], text: pl.DataFrame, settings: Settings
) -> dict[int, SheetForm]:
    """Settle how each of many sheets of a kind is read, by sheet_no; cells are trimmed."""
    marks = _marks(kind, text)
    dates = _dates(kind, text, settings)
    found: dict[int, SheetForm] = {}
    for sheet_no in text["sheet_no"].unique().sort():
        front = fronts.get(sheet_no, Front())
        sheet = text.lazy().filter(pl.col("sheet_no") == sheet_no)
        decimal, number_notes = _decimal(marks.get(sheet_no, {}), kind, sheet, settings)
        units = {
            column.name: named
            for column in kind.columns
            if (heading := front.headings.get(column.name, ""))
            and (named := other_units(column, heading, settings.currency))
        }
        order, serials, date_notes = _order(dates.get(sheet_no, {}), kind, front, settings)
        found[sheet_no] = SheetForm(
            decimal=decimal,
            dates=order,
            serials=serials,
            units=units,
            notes=(*number_notes, *date_notes, *_unit_notes(units, front)),
        )
    return found


def _unit_notes(units: Mapping[str, str], front: Front) -> list[Note]:
    return [
        Note("heading-units" if "/" in unit else "heading-unit", (front.headings[name], unit))
        for name, unit in units.items()
    ]


def _marks(kind: Kind, text: pl.DataFrame) -> dict[int, dict[str, Counter[str]]]:
    """Return per sheet and column how many cells must have which decimal mark.

    Keys of the counter: ".", "," and "either" for cells that may have both.
    """
    found: dict[int, dict[str, Counter[str]]] = {}
    for column in kind.columns:
        if column.type not in NUMBERS:
            continue
        marked = text.lazy().select("sheet_no", cell=column.name)
        marked = marked.filter(pl.col("cell").str.contains("[.,]")).collect()
        marks = {
            cell: _mark_of(cell, whole=column.type == "integer") for cell in marked["cell"].unique()
        }
        if not marks:
            continue
        counted = (
            marked.with_columns(pl.col("cell").replace_strict(marks, return_dtype=pl.String))
            .group_by("sheet_no", "cell")
            .len()
        )
        for sheet_no, mark, count in counted.sort("sheet_no", "cell").iter_rows():
            if mark:
                found.setdefault(sheet_no, {}).setdefault(column.name, Counter())[mark] += count
    return found


def _mark_of(cell: str, *, whole: bool) -> str:
    written = take_apart(cell)
    return only_mark(written.number, whole=whole) if written else ""


def _decimal(
    marks: Mapping[str, Counter[str]], kind: Kind, sheet: pl.LazyFrame, settings: Settings
) -> tuple[str, list[Note]]:
    """Return the sheet's decimal mark, "" where it is open, and how it was settled."""
    whole = sum(marks.values(), Counter[str]())
    point, comma = whole[POINT], whole[COMMA]
    either = whole[EITHER]
    if point or comma:
        most, least = max(point, comma), min(point, comma)
        if least * SLIPS > most:
            return "", [Note("decimal-mixed")]
        mark = POINT if point >= comma else COMMA
        told = mark == COMMA or either or least
        note = Note("decimal-by-sheet", (MARK_WORDS[mark], str(most)))
        return mark, [note] if told else []
    if not either:
        return POINT, []
    for column in kind.columns:
        if column.name not in marks:
            continue
        cells = sheet.select(column.name).unique().collect()[column.name].drop_nulls()
        if mark := _possible_mark(column, kind, cells, settings):
            return mark, [Note("decimal-by-scale", (MARK_WORDS[mark],))]
    if mark := settings.sheets.decimal_mark:
        return mark, [Note("decimal-by-book", (MARK_WORDS[mark],))]
    return "", [Note("decimal-open", (str(either),))]


def _possible_mark(column: Column, kind: Kind, cells: Iterable[str], settings: Settings) -> str:
    """Return the mark without which a column's numbers would be too large; "" if both can be."""
    most = Decimal(100) if column.type == "percent" else None
    # Their capacity says something only of rows that were weighed on one of the declared scales.
    if column.type == "kg" and settings.scales and any(c.name == "scale" for c in kind.columns):
        most = max(scale.capacity_kg for scale in settings.scales)
    taken = [take_apart(cell) for cell in cells]
    read = [found for written in taken if written and (found := readings(written.number))]
    if most is None or not read:
        return ""
    fitting = [
        mark
        for mark in (POINT, COMMA)
        if all(mark in cell and Decimal(cell[mark]) <= most for cell in read)
    ]
    return fitting[0] if len(fitting) == 1 else ""


def _dates(
    kind: Kind, text: pl.DataFrame, settings: Settings
) -> dict[int, dict[str, dict[str, tuple[DateCell, int]]]]:
    """Return per sheet and date column its distinct cells as read, each with how often it is."""
    this_year = max(season.last_day.year for season in settings.seasons)
    found: dict[int, dict[str, dict[str, tuple[DateCell, int]]]] = {}
    read: dict[str, DateCell] = {}
    for column in kind.columns:
        if column.type != "date":
            continue
        counted = (
            text.select("sheet_no", cell=column.name)
            .drop_nulls()
            .group_by("sheet_no", "cell", maintain_order=True)
            .len()
        )
        for sheet_no, cell, count in counted.iter_rows():
            if cell not in read:
                read[cell] = read_date(cell, this_year)
            cells = found.setdefault(sheet_no, {}).setdefault(column.name, {})
            cells[cell] = read[cell], count
    return found


def _order(
    columns: Mapping[str, Mapping[str, tuple[DateCell, int]]],
    kind: Kind,
    front: Front,
    settings: Settings,
) -> tuple[str, frozenset[str], list[Note]]:
    """Return the order of the sheet's dates, its columns of day numbers, and what settled both."""
    notes: list[Note] = []
    serials: set[str] = set()
    for name, cells in columns.items():
        heading = front.headings.get(name, kind.column(name).title)
        if all(cell.serial for cell, _ in cells.values()):
            serials.add(name)
            text, (cell, _) = min(cells.items())
            notes.append(Note("day-numbers", (heading, text, str(cell.day))))
        notes += _plain_notes(heading, [cell for cell, _ in cells.values()], settings)
    counts: Counter[str] = Counter()
    total = doubtful = 0
    for cells in columns.values():
        for cell, count in cells.values():
            if cell.orders and "" not in cell.orders:
                total += count
                doubtful += count * (cell.day is None)
                counts.update(dict.fromkeys(cell.orders, count))
    if not total:
        return "", frozenset(serials), notes
    best = [order for order in ORDER_WORDS if counts[order] == max(counts.values())]
    misses = total - max(counts.values())
    if misses * SLIPS > total:
        return "", frozenset(serials), [*notes, Note("dates-mixed")]
    if len(best) == 1:
        order, code = best[0], "dates-by-sheet"
    else:
        days = [cell for cell, _ in columns.get(kind.day, {}).values()] if kind.day else []
        order, code = _by_days(best, days, front, settings)
    if not order:
        return (
            "",
            frozenset(serials),
            [*notes, *([Note("dates-open", (str(doubtful),))] * bool(doubtful))],
        )
    return order, frozenset(serials), [*notes, Note(code, (ORDER_WORDS[order],))]


def _by_days(
    orders: list[str], cells: list[DateCell], front: Front, settings: Settings
) -> tuple[str, str]:
    """Return the one order that puts all days into the week named, or a season, or is declared."""
    seasons = [(season.first_day, season.last_day) for season in settings.seasons]
    dated = [cell for cell in cells if cell.orders]
    windows = (("dates-by-week", [front.days] if front.days else []), ("dates-by-season", seasons))
    for code, spans in windows:
        fitting = [
            order
            for order in orders
            if dated and spans and all(_inside(cell, order, spans) for cell in dated)
        ]
        if len(fitting) == 1:
            return fitting[0], code
    declared = settings.sheets.date_order
    return (declared, "dates-by-book") if declared in orders else ("", "")


def _inside(cell: DateCell, order: str, spans: list[Days]) -> bool:
    day = cell.orders.get(order, cell.day)
    return day is not None and any(first <= day <= last for first, last in spans)


def _plain_notes(heading: str, cells: list[DateCell], settings: Settings) -> list[Note]:
    notes: list[Note] = []
    if any(cell.short_year for cell in cells):
        last = max(season.last_day.year for season in settings.seasons) + 1
        notes.append(Note("short-years", (str(last - 99), str(last))))
    if any(cell.written for cell in cells):
        notes.append(Note("written-dates", (heading,)))
    if any(cell.time for cell in cells):
        notes.append(Note("times-left-off", (heading,)))
    return notes
