"""What work takes: seconds by the clock and of the processor, here or in a process of its own."""

import gc
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from statistics import median
from typing import ParamSpec, TypeVar

Given = ParamSpec("Given")
Result = TypeVar("Result")


@dataclass(frozen=True, slots=True, kw_only=True)
class Spent:
    """Seconds that one part took: by the clock, and of the processor over all threads."""

    wall_s: float
    cpu_s: float


def spent(work: Callable[[], object]) -> Spent:
    """Run some work and return what it took."""
    gc.collect()
    wall, cpu = time.perf_counter(), time.process_time()
    work()
    return Spent(wall_s=time.perf_counter() - wall, cpu_s=time.process_time() - cpu)


def middle(times: Sequence[Spent]) -> Spent:
    """Return the median of each of the two."""
    return Spent(
        wall_s=median(one.wall_s for one in times), cpu_s=median(one.cpu_s for one in times)
    )


def in_new_process(
    work: Callable[Given, Result], *args: Given.args, **kwargs: Given.kwargs
) -> Result:
    """Run some work in a process of its own, whose memory begins empty; return its result."""
    with ProcessPoolExecutor(max_workers=1, mp_context=get_context("spawn")) as child:
        return child.submit(work, *args, **kwargs).result()
