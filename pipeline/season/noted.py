"""What the journal says beside sheets, kept in a season file: decisions, who posted, who closed."""

import duckdb

from pipeline.book.decisions import Place, judged
from pipeline.book.journal import Line

# What a decision says of its flag, in the order of the table.
DECIDED = (
    "flag",
    "rule",
    "kind",
    "sheet_no",
    "row_no",
    "row_key",
    "col",
    "value_hash",
    "holds_to",
    "action",
)


def note_decisions(
    con: duckdb.DuckDBPyConnection, line: Line, season: str, gone: set[Place]
) -> None:
    """Keep what a line decided in a season, but for what was taken back since."""
    noted = [
        [
            line.n,
            *(one.get(key) for key in DECIDED),
            one.get("new_value"),
            one.get("old_value"),
            one["because"],
            one["by"],
            line.at,
            *(one.get(key) for key in ("reads", "unit", "worth")),
        ]
        for one in judged(line, season)
        if (line.n, one["flag"]) not in gone
    ]
    if noted:
        marks = ", ".join("?" for _ in noted[0])
        con.executemany(f"insert into decisions values ({marks})", noted)


def take_back(con: duckdb.DuckDBPyConnection, line: Line) -> None:
    """Forget a decision that a line took back; an amended cell needs the season worked out anew."""
    con.execute(
        "delete from decisions where decision_n = ? and flag = ?",
        [line.body["of"], line.body["flag"]],
    )


def note_posted(con: duckdb.DuckDBPyConnection, line: Line) -> None:
    """Keep who posted a sheet, and who stood by it as the second."""
    body = line.body
    con.execute(
        "insert into posted values (?, ?, ?, ?, ?, ?)",
        [body["sha256"], body["of"], body["by"], body["second"], line.at, line.n],
    )


def note_closed(con: duckdb.DuckDBPyConnection, line: Line) -> None:
    """Keep up to which sheet the season goes, now that it is closed."""
    body = line.body
    con.execute(
        "insert into closing values (?, ?, ?)", [body["last_sheet"], body["by"], body["second"]]
    )
