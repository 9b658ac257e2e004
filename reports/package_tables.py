"""The tables of a season's package: what each column is, and its rows as Arrow holds them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from importlib.resources import files
from typing import Any, cast

import duckdb
import pyarrow
import pyarrow.compute
import tomli

from pipeline.intake.kinds import Kind, kinds
from pipeline.intake.schema import TYPES, table_schema
from pipeline.intake.stored import DECIMALS
from pipeline.season.tables import season_sql
from reports.query import sql_text

# An Arrow table; the package ships no types.
Arrow = Any
# Its functions are made when it is loaded, so that no checker knows them.
arrow: Any = pyarrow
compute: Any = pyarrow.compute

_PLACE = {
    "sheet_no": "Sheet that the row stands on.",
    "row_no": "Row; the sheet's first line is row 1.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table: its words, its Table Schema, and the query that gives its rows.

    `money`: columns held in whole minor units.
    """

    name: str
    title: str
    about: str
    schema: dict[str, Any]
    query: str
    money: frozenset[str]

    @property
    def columns(self) -> list[dict[str, Any]]:
        """The fields of its schema, in the order of its columns."""
        return self.schema["fields"]


def tables(*, personal: bool, language: str) -> Iterator[Table]:
    """Every table: first what is worked out, then each kind of sheet.

    Titles of tables and columns and what a row is are in the language; names are the same in all.

    Without `personal`, no column that names a person, says where they live, or may hold anything.
    """
    declared = _declared()
    for raw in declared["table"]:
        yield _worked_out(raw, language, personal=personal)
    hidden = frozenset(cast(list[str], declared["personal"]))
    for kind in kinds().values():
        yield _of_kind(kind, hidden, language, personal=personal)


@cache
def _declared() -> dict[str, Any]:
    return tomli.loads(files("reports").joinpath("package.toml").read_text(encoding="utf-8"))


def _worked_out(raw: dict[str, Any], language: str, *, personal: bool) -> Table:
    kept = [one for one in raw["columns"] if personal or not one.get("personal")]
    fields: list[dict[str, Any]] = [
        {
            "name": one["name"],
            "title": _heading(one["name"], language),
            "type": "number" if one["type"] in DECIMALS else TYPES.get(one["type"], "string"),
            "description": one["about"],
            **({"unit": one["unit"]} if "unit" in one else {}),
            **({"constraints": {"required": True}} if one["name"] in raw.get("key", ()) else {}),
        }
        for one in kept
    ]
    money = frozenset(one["name"] for one in kept if one["type"] == "money")
    names = ", ".join(f"{n}_minor as {n}" if n in money else n for n in (f["name"] for f in fields))
    own = raw.get("query_of_season")
    rows = season_sql(own) if own else sql_text("package_" + raw["name"])
    return Table(
        name=raw["name"],
        title=({"en": raw["title"]} | raw["titles"])[language],
        about=({"en": raw["about"]} | raw["abouts"])[language],
        schema=_schema(fields, raw.get("key", [])),
        query=f"select {names} from ({rows})",
        money=money,
    )


def _heading(name: str, language: str) -> str:
    return _declared()["headings"][name][language]


def _of_kind(kind: Kind, hidden: frozenset[str], language: str, *, personal: bool) -> Table:
    """The counted rows of a kind of sheet, as its declaration describes them."""
    told = table_schema(kind)
    kept = [c for c in kind.columns if personal or not (c.personal or c.name in hidden)]
    titles = {column.name: column.spellings[language][0] for column in kept}
    place = [
        {"name": name, "title": _heading(name, language), "type": "integer", "description": about}
        for name, about in _PLACE.items()
    ]
    fields = [
        field | {"title": titles[field["name"]]}
        for field in told["fields"]
        if field["name"] in titles
    ]
    # A number of hours and minutes is written as such.
    chosen = ", ".join(
        f"strftime(date '2000-01-01' + {c.name}, '%H:%M') as {c.name}" if c.type == "time"
        else f"{c.stored} as {c.name}"
        for c in kept
    )  # fmt: skip
    return Table(
        name=kind.name,
        title=kind.titles[language],
        about=kind.abouts[language],
        schema=_schema([*place, *fields], ["sheet_no", "row_no"]),
        query=f"select sheet_no, row_no, {chosen} from {kind.name} where state = 'counted' "
        "order by sheet_no, row_no",
        money=frozenset(column.name for column in kept if column.type == "money"),
    )


def _schema(fields: list[dict[str, Any]], key: list[str]) -> dict[str, Any]:
    schema: dict[str, Any] = {"fields": fields, "missingValues": [""]}
    if key:
        schema["primaryKey"] = key
    if key != ["sheet_no"] and any(field["name"] == "sheet_no" for field in fields):
        to = {"resource": "sheets", "fields": "sheet_no"}
        schema["foreignKeys"] = [{"fields": "sheet_no", "reference": to}]
    return schema


def rows_of(con: duckdb.DuckDBPyConnection, table: Table, decimals: int) -> Arrow:
    """A table's rows; money in the currency, exact, with its decimals."""
    found: Any = con.sql(table.query).to_arrow_table()
    coin = arrow.decimal128(decimals + 1, decimals)
    minor = arrow.scalar(Decimal(1).scaleb(-decimals), coin)
    for at, name in enumerate(found.column_names):
        if name in table.money:
            whole = found.column(at).cast(arrow.decimal128(19, 0))
            found = found.set_column(at, name, compute.multiply(whole, minor))
    return found
