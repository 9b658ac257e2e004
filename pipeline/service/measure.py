"""What processes hold: memory, open files, and the processor's time they have used."""

import os
import time
from dataclasses import dataclass

import psutil

MIB = 1 << 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What a process and all it started hold now.

    `memory_mib`: each page shared with others in parts (PSS) where the system tells, else resident;
    `files`: open files and sockets, 0 where nobody may ask; `cpu_s`: seconds of one core since each
    began.
    """

    memory_mib: float
    files: int
    processes: int
    cpu_s: float


def held(pid: int, *, alone: bool = False) -> Held:
    """Look at a process and its descendants, or at it `alone`; nothing is held where it is gone."""
    memory, files, cpu, processes = 0.0, 0, 0.0, 0
    for one in _family(pid, alone):
        try:
            memory += _memory(one)
            files += _files(one)
            times = one.cpu_times()
            cpu += times.user + times.system
            processes += 1
        except psutil.Error:
            continue
    return Held(memory_mib=memory / MIB, files=files, processes=processes, cpu_s=cpu)


def age_s() -> float:
    """Return how many seconds ago this process began."""
    return max(0.0, time.time() - psutil.Process().create_time())


def _family(pid: int, alone: bool) -> list[psutil.Process]:
    # Zero is nobody's number here; to some systems it is that of the kernel.
    if not pid:
        return []
    try:
        first = psutil.Process(pid)
        return [first] if alone else [first, *first.children(recursive=True)]
    except psutil.Error:
        return []


def _memory(one: psutil.Process) -> int:
    try:
        whole = one.memory_full_info()
    except psutil.AccessDenied:
        return int(one.memory_info().rss)
    return int(getattr(whole, "pss", 0) or getattr(whole, "uss", 0) or whole.rss)


def _files(one: psutil.Process) -> int:
    try:
        return int(one.num_fds() if os.name == "posix" else one.num_handles())
    except psutil.AccessDenied:
        return 0
