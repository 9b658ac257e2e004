"""Brings frames into a season file."""

from typing import Any

import duckdb
import polars as pl


def register_frame(con: duckdb.DuckDBPyConnection, name: str, frame: pl.DataFrame) -> None:
    """Let queries of a connection read a frame under a name, until it is unregistered."""
    con.register(name, _arrow(frame))


def insert_frame(con: duckdb.DuckDBPyConnection, table: str, frame: pl.DataFrame) -> None:
    """Insert a frame's rows into a table, column by column in their order.

    A registered name would not do in a long transaction: DuckDB keeps what was registered, and so
    every frame, until the transaction ends. Columns without a value, mostly half of them, are not
    carried over.
    """
    counts = frame.null_count().row(0, named=True)
    filled = [name for name, nulls in counts.items() if nulls < frame.height]
    if not filled:
        return
    given = con.from_arrow(_arrow(frame.select(filled)))
    cells = [f'"{name}"' if name in filled else f'null as "{name}"' for name in frame.columns]
    given.project(", ".join(cells)).insert_into(table)


def _arrow(frame: pl.DataFrame) -> Any:
    # polars gives Arrow tables no type.
    return frame.rechunk().to_arrow(compat_level=pl.CompatLevel.newest())  # pyright: ignore[reportUnknownVariableType]
