"""Works a step out on a connection of its own while the steps after it, that do not read it, go on."""

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Self

import duckdb

from pipeline.season.tables import connect_again, rows


class Beside:
    """One piece of work beside others; what it wrote is seen by transactions begun after `wait`.

    `con`: the connection of the others, to whose file the work is given one more. It sees what was
    committed before it began, none of the temp tables, and may write no table that others write.
    """

    def __init__(self, con: duckdb.DuckDBPyConnection) -> None:
        self._con = con
        self._pool = ThreadPoolExecutor(max_workers=1)
        self._under_way: Future[None] | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._pool.shutdown()

    def begin(self, work: Callable[[duckdb.DuckDBPyConnection], object]) -> None:
        """Begin the work, or do it at once where there is one core."""
        con = connect_again(self._con)

        def run() -> None:
            with con:
                con.execute("begin transaction")
                work(con)
                con.execute("commit")

        ((cores,),) = rows(self._con, "select current_setting('threads')")
        self._under_way = self._pool.submit(run)
        if cores == 1:
            self._under_way.result()

    def wait(self) -> bool:
        """Wait until what was begun is done, and raise its error; tell whether there was any."""
        if self._under_way is None:
            return False
        self._under_way.result()
        return True
