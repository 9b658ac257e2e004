"""The floor to measure beside: DuckDB's own reading of CSV sheets into typed tables."""

from collections.abc import Sequence
from pathlib import Path

import duckdb

from pipeline.intake.kinds import kinds
from pipeline.intake.stored import sql_type
from pipeline.samples.sheets import headings


def typed_read_csv(
    con: duckdb.DuckDBPyConnection, table: str, kind: str, files: Sequence[Path]
) -> None:
    """Read clean sheets of one kind as a user would who knows every column's type, into a table."""
    types = {
        heading: sql_type(kinds()[kind].column(name)) for name, heading in headings(kind).items()
    }
    with files[0].open(encoding="utf-8") as file:
        own = {heading: types[heading] for heading in file.readline().strip().split(",")}
    con.execute(
        f"create table {table} as select * from read_csv($files, header = true, "
        "delim = ',', quote = '\"', dateformat = '%Y-%m-%d', auto_detect = false, "
        "columns = $types)",
        {"files": [str(file) for file in files], "types": own},
    )
