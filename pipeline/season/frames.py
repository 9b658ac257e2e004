"""Brings frames into a season file."""

from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any

import duckdb
import polars as pl

from pipeline.intake.kinds import Kind
from pipeline.season.filled import hold, table_of

# The rows of a row group. DuckDB 2.0.1 compresses one that comes in by itself at once; of one and a
# quarter it does so at the commit, on one core, or leaves it as it is.
ROW_GROUP = 122_880
# Rows that may wait to be inserted, so that who types them need not: typed, they are small.
MOST_UNDER_WAY = 250_000


def register_frame(con: duckdb.DuckDBPyConnection, name: str, frame: pl.DataFrame) -> None:
    """Let queries of a connection read a frame under a name, until it is unregistered."""
    con.register(name, _arrow(frame))


def frame_of_rows(rows: Iterable[tuple[Any, ...]], schema: Mapping[str, Any]) -> pl.DataFrame:
    """Return rows as a frame: turned into columns first, which takes half of polars' own time."""
    return pl.DataFrame(dict(zip(schema, zip(*rows, strict=True), strict=False)), schema=schema)


def insert_frame(con: duckdb.DuckDBPyConnection, table: str, frame: pl.DataFrame) -> None:
    """Insert a frame's rows into a table, column by column in their order.

    A registered name would not do in a long transaction: DuckDB keeps what was registered, and so
    every frame, until the transaction ends. Columns without a value are not carried over.
    """
    given = _filled(frame)
    if not given:
        return
    cells = [f'"{name}"' if name in given else f'null as "{name}"' for name in frame.columns]
    con.from_arrow(_arrow(frame.select(given))).project(", ".join(cells)).insert_into(table)


def insert_rows(con: duckdb.DuckDBPyConnection, kind: Kind, frame: pl.DataFrame) -> None:
    """Insert rows of a kind that have all its columns, as they are stored."""
    insert_frame(con, table_of(kind), frame.select(hold(con, kind, _filled(frame))))


def _filled(frame: pl.DataFrame) -> list[str]:
    """Return the names of the columns that hold a value."""
    counts = frame.null_count().row(0, named=True)
    return [name for name, nulls in counts.items() if nulls < frame.height]


def _arrow(frame: pl.DataFrame) -> Any:
    # polars gives Arrow tables no type.
    return frame.rechunk().to_arrow(compat_level=pl.CompatLevel.newest())  # pyright: ignore[reportUnknownVariableType]


class Inserter:
    """Inserts frames in a thread of its own, so that the next ones can be made meanwhile.

    DuckDB takes a frame in on one core. Nothing else may use the connection until `wait` or `close`
    has returned. Rows go in by whole row groups; what is left over under a name goes before its
    next rows, or in with `finish`. `insert` puts a frame where its name says. The connection is in
    a transaction, and may be in another one after. `in_turn`: there is one core to work with;
    frames are inserted by the thread that brings them.
    """

    def __init__(
        self,
        con: duckdb.DuckDBPyConnection,
        insert: Callable[[duckdb.DuckDBPyConnection, str, pl.DataFrame], None] = insert_frame,
        *,
        in_turn: bool = False,
    ) -> None:
        self._con = con
        self._put = insert
        self._pool = None if in_turn else ThreadPoolExecutor(max_workers=1)
        self._under_way: list[tuple[int, Future[None]]] = []
        self._left: dict[str, pl.DataFrame] = {}

    def insert(self, frames: Mapping[str, pl.DataFrame], *, to_the_last: bool = False) -> None:
        """Insert frames under the names that they have, after those before.

        It waits for some of these while too many rows are under way. `to_the_last`: no more are
        expected, so nothing is left over, and all is written out while others are made.
        """
        height = sum(frame.height for frame in frames.values())
        while self._under_way and sum(n for n, _ in self._under_way) + height > MOST_UNDER_WAY:
            self._under_way.pop(0)[1].result()
        self._begin(height, lambda: self._insert(frames, to_the_last=to_the_last))

    def finish(self) -> None:
        """Begin to insert all that is left over."""
        self._begin(0, self._insert_left)

    def wait(self) -> None:
        """Wait for what is under way; an error that it met is raised here."""
        while self._under_way:
            self._under_way.pop(0)[1].result()

    def _begin(self, height: int, work: Callable[[], None]) -> None:
        if self._pool is None:
            work()
        else:
            self._under_way.append((height, self._pool.submit(work)))

    def _insert(self, frames: Mapping[str, pl.DataFrame], *, to_the_last: bool) -> None:
        for name, frame in frames.items():
            rows = pl.concat([self._left.pop(name), frame]) if name in self._left else frame
            now = rows.height if to_the_last else rows.height // ROW_GROUP * ROW_GROUP
            for group in rows.head(now).iter_slices(ROW_GROUP):
                self._put(self._con, name, group)
            self._left[name] = rows.tail(rows.height - now)
        if to_the_last:
            self._con.execute("commit")
            self._con.execute("begin transaction")

    def _insert_left(self) -> None:
        for name, frame in self._left.items():
            self._put(self._con, name, frame)
        self._left.clear()

    def close(self) -> None:
        """Wait for what is under way and end the thread; an error that it met is not raised."""
        if self._pool is not None:
            self._pool.shutdown()
