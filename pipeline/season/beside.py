"""Works steps out on a connection of their own while others, that do not read them, go on."""

import sys
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from functools import partial
from typing import Self, TypeVar

import duckdb

from pipeline.season.tables import connect_again

Connection = duckdb.DuckDBPyConnection
T = TypeVar("T")
# For how long a thread that comes back from DuckDB lets another go on in Python, seconds.
TURN_S = 0.0005


class Beside:
    """Some work beside others, one piece after the other, in a transaction of its own.

    `con`: the connection of the others, to whose file the work is given one more. It sees what was
    committed before the first piece began, and of temp tables those that `lend` makes there; it may
    write to no row that others write to, and is seen by transactions that begin after `wait`.
    `alone`: work is done at once on `con` instead, as where there is one core.
    """

    def __init__(
        self,
        con: Connection,
        lend: Callable[[Connection], object] | None = None,
        *,
        alone: bool = False,
    ) -> None:
        self._con = con
        self._lend = lend
        self._alone = alone
        self._other: Connection | None = None
        self._pool = ThreadPoolExecutor(max_workers=1)
        self._turn_s = TURN_S
        self._under_way: list[Future[None]] = []
        self._then: list[Callable[[], object]] = []

    def __enter__(self) -> Self:
        self._turn_s = sys.getswitchinterval()
        sys.setswitchinterval(min(TURN_S, self._turn_s))
        return self

    def __exit__(self, *_: object) -> None:
        self._pool.shutdown()
        sys.setswitchinterval(self._turn_s)
        if self._other:
            self._other.close()

    def begin(
        self, work: Callable[[Connection], T], then: Callable[[T], object] | None = None
    ) -> None:
        """Begin a piece of work; `then` is told what it returned, once it is waited for."""
        if self._alone:
            found = work(self._con)
            if then:
                then(found)
            return
        if self._other is None:
            self._other = connect_again(self._con)
            if self._lend:
                self._lend(self._other)
            self._other.execute("begin transaction")
        other = self._other

        def run() -> None:
            found = work(other)
            if then:
                self._then.append(partial(then, found))

        self._under_way.append(self._pool.submit(run))

    def wait(self) -> bool:
        """Wait for what was begun, and raise its error; tell whether it had a connection."""
        if self._other is None:
            return False
        for one in self._under_way:
            one.result()
        self._other.execute("commit")
        for told in self._then:
            told()
        return True
