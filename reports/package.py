"""A season as a Data Package: every table as CSV and as Parquet, described column by column.

Keeps to version 1 of the Frictionless Standards (Data Package, Table Schema).
"""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import duckdb
import pyarrow as pa
import pyarrow.csv as pa_csv
import pyarrow.parquet as pq

from reports.drawing import write
from reports.facts import CoopFacts
from reports.package_tables import Arrow, Table, compute, rows_of, tables
from reports.words import catalogue, spoken

DESCRIPTOR = "datapackage.json"
# A cell of text that a spreadsheet would take for a formula: it begins so, and is no number.
_FORMULA = r"^[=+\-@\t\r]"
_NUMBER = r"^[+-]?[0-9]+([.,][0-9]+)*%?$"


def filled(
    con: duckdb.DuckDBPyConnection, facts: CoopFacts, *, personal: bool
) -> Iterator[tuple[Table, Arrow]]:
    """Every table that holds a row, with its rows."""
    for table in tables(personal=personal, language=language_of(facts)):
        found = rows_of(con, table, facts.decimals)
        if found.num_rows or table.name == "sheets":
            yield table, found


def language_of(facts: CoopFacts) -> str:
    """The language of its words: the first that the book offers."""
    return spoken(None, facts.languages)


def told(facts: CoopFacts, made_up_to: str, *, personal: bool) -> list[str]:
    """What stands over all tables: a title, and sentences on what is in them."""
    say = catalogue(language_of(facts)).gettext
    return [
        f"{facts.name}, {say('Season')} {facts.season}",
        say("Made up to {day}. Money in {currency}, weights in kilograms.").format(
            day=made_up_to, currency=facts.currency
        ),
        say("Personal columns are in it.") if personal else say("Personal columns are left out."),
    ]


def write_package(
    con: duckdb.DuckDBPyConnection, facts: CoopFacts, folder: Path, *, made_up_to: str,
    personal: bool,
) -> list[Path]:  # fmt: skip
    """Writes the package into a folder; the same season gives the same bytes.

    Text that a spreadsheet would take for a formula has a quote before it in CSV, as it is in
    Parquet. The descriptor is written last.
    """
    resources: list[dict[str, Any]] = []
    for table, found in filled(con, facts, personal=personal):
        for kind, data in (("csv", _csv(found)), ("parquet", _parquet(found))):
            path = f"data/{table.name}.{kind}"
            hashed = write(folder, path, data)
            resources.append(_resource(table, kind, path, data, hashed))
    title, *about = told(facts, made_up_to, personal=personal)
    descriptor = {
        "profile": "data-package",
        "name": "season-" + "".join(c if c.isalnum() else "-" for c in facts.season.lower()),
        "title": title,
        "description": " ".join(about),
        "resources": resources,
    }
    text = json.dumps(descriptor, ensure_ascii=False, indent=1) + "\n"
    write(folder, DESCRIPTOR, text.encode())
    return [folder / DESCRIPTOR, *(folder / resource["path"] for resource in resources)]


def _resource(table: Table, kind: str, path: str, data: bytes, hashed: str) -> dict[str, Any]:
    csv = kind == "csv"
    described: dict[str, Any] = {
        "profile": "tabular-data-resource" if csv else "data-resource",
        # Other tables point to the CSV by this name.
        "name": table.name.replace("_", "-") + ("" if csv else "-parquet"),
        "path": path,
        "title": table.title,
        "description": table.about,
        "format": kind,
        "mediatype": "text/csv" if csv else "application/vnd.apache.parquet",
        "bytes": len(data),
        "hash": f"sha256:{hashed}",
    }
    if csv:
        described["encoding"] = "utf-8"
    return described | {"schema": table.schema}


def _csv(found: Arrow) -> bytes:
    for at, name in enumerate(found.column_names):
        column: Any = found.column(at)
        if pa.types.is_string(column.type):
            found = found.set_column(at, name, _quoted(column))
    made = io.BytesIO()
    pa_csv.write_csv(found, made)
    return made.getvalue()


def _quoted(column: Any) -> Any:
    matches = compute.match_substring_regex
    risky: Any = compute.and_not(matches(column, _FORMULA), matches(column, _NUMBER))
    if not compute.any(risky).as_py():
        return column
    return compute.if_else(risky, compute.binary_join_element_wise("'", column, ""), column)


def _parquet(found: Arrow) -> bytes:
    made = io.BytesIO()
    pq.write_table(found, made, compression="zstd")
    return made.getvalue()
