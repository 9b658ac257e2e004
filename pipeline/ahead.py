"""Brings the next thing while the one before it is looked at."""

from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any, Final, TypeVar, cast

Thing = TypeVar("Thing")
END: Final = object()


def ahead(things: Iterable[Thing]) -> Iterator[Thing]:
    """Yield some things in their order, each made in a thread while the one before is looked at.

    No more than one waits: it takes memory. What making one raises is raised in its turn.
    """
    make = iter(things)
    with ThreadPoolExecutor(max_workers=1) as pool:
        coming = pool.submit(cast(Any, next), make, END)
        while (thing := coming.result()) is not END:
            coming = pool.submit(cast(Any, next), make, END)
            yield thing
