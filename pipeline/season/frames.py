"""Brings frames into a season file."""

from collections.abc import Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any

import duckdb
import polars as pl

# The rows of a row group. DuckDB 2.0.1 compresses one that comes in by itself at once; of one and a
# quarter it does so at the commit, on one core, or leaves it as it is.
ROW_GROUP = 122_880


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


class Inserter:
    """Inserts frames in a thread of its own, so that the next ones can be made meanwhile.

    DuckDB takes a frame in on one core. One set of frames is under way at a time, and nothing else
    may use the connection until `wait`, `finish` or `close` has returned. Rows go in by whole row
    groups; what is left over of a table goes before its next rows, or in with `finish`. `in_turn`:
    there is one core to work with; frames are inserted by the thread that brings them.
    """

    def __init__(self, con: duckdb.DuckDBPyConnection, *, in_turn: bool = False) -> None:
        self._con = con
        self._pool = None if in_turn else ThreadPoolExecutor(max_workers=1)
        self._under_way: Future[None] | None = None
        self._left: dict[str, pl.DataFrame] = {}

    def insert(self, frames: Mapping[str, pl.DataFrame]) -> None:
        """Insert frames into the tables that they are named by, once those before are in."""
        self.wait()
        if self._pool is None:
            self._all(frames)
        else:
            self._under_way = self._pool.submit(self._all, frames)

    def wait(self) -> None:
        """Wait for what is under way; an error that it met is raised here."""
        if self._under_way is not None:
            under_way, self._under_way = self._under_way, None
            under_way.result()

    def finish(self) -> None:
        """Insert what is left over of every table."""
        self.wait()
        for table, frame in self._left.items():
            insert_frame(self._con, table, frame)
        self._left.clear()

    def _all(self, frames: Mapping[str, pl.DataFrame]) -> None:
        for table, frame in frames.items():
            rows = pl.concat([self._left.pop(table), frame]) if table in self._left else frame
            whole = rows.height // ROW_GROUP * ROW_GROUP
            for group in rows.head(whole).iter_slices(ROW_GROUP):
                insert_frame(self._con, table, group)
            self._left[table] = rows.tail(rows.height - whole)

    def close(self) -> None:
        """Wait for what is under way and end the thread; an error that it met is not raised."""
        if self._pool is not None:
            self._pool.shutdown()
