"""The SQL of rules that follow from a kind's declaration: keys, bounds, order and days."""

from collections.abc import Callable
from dataclasses import dataclass
from string import Template

from pipeline.intake.kinds import Column, Kind, kinds


@dataclass(frozen=True, slots=True)
class _Cell:
    """One column that is looked at: SQL that tells where it is off, and the values of its row."""

    off: str
    values: tuple[str, ...]


def _text(value: str) -> str:
    """Return a text of a declaration, never of a sheet, as SQL; "" as a typed null."""
    return f"'{value}'" if value else "cast(null as varchar)"


def _bounds(kind: Kind) -> list[_Cell]:
    found: list[_Cell] = []
    for column in kind.columns:
        marks = (("<", column.least), ("<=", column.above), (">", column.most))
        off = " or ".join(f"c.{column.stored} {mark} {edge}" for mark, edge in marks if edge)
        if off:
            bounds = (_text(column.least), _text(column.above), _text(column.most))
            found.append(_Cell(off, (_text(column.name), _value(column), *bounds)))
    return found


def _order(kind: Kind) -> list[_Cell]:
    found: list[_Cell] = []
    for column in kind.columns:
        if column.not_above:
            other = kind.column(column.not_above)
            off = f"c.{column.stored} > c.{other.stored}"
            pair = (_text(column.name), _value(column), _text(other.name), _value(other))
            found.append(_Cell(off, pair))
    return found


def _past(kind: Kind) -> list[_Cell]:
    found: list[_Cell] = []
    for column in kind.columns:
        if column.past:
            latest = "s.taken_day" if column.type == "date" else "year(s.taken_day)"
            off = f"c.{column.stored} > {latest}"
            found.append(_Cell(off, (_text(column.name), _value(column))))
    return found


def _value(column: Column) -> str:
    return f"cast(c.{column.stored} as varchar)"


CELLS: dict[str, Callable[[Kind], list[_Cell]]] = {
    "impossible_values": _bounds,
    "wrong_order": _order,
    "days_to_come": _past,
}


def declares(query: str, kind: Kind) -> bool:
    """Tell whether a kind declares anything for one of these queries to look at."""
    return bool(CELLS[query](kind))


def filled(query: str, sql: str, kind: str) -> str:
    """Return a query's SQL for one kind: `$cells`, one row a column; `$any`, whether one is off.

    `$key`: the columns of its key. SQL that is none of these comes back as it is.
    """
    if query == "keys_twice":
        return Template(sql).substitute(
            key=", ".join((*kinds()[kind].key, *kinds()[kind].key_also))
        )
    if query not in CELLS:
        return sql
    cells = CELLS[query](kinds()[kind])
    rows = ", ".join(f"({', '.join(cell.values)}, {cell.off})" for cell in cells)
    return Template(sql).substitute(cells=rows, any=" or ".join(f"({c.off})" for c in cells))
