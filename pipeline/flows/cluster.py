"""A Dask scheduler and workers on this machine, each a process of its own, as on many machines."""

import contextlib
import importlib
import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Generator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

from dask.distributed import Client

from pipeline.errors import ServiceError

PATIENCE_S = 120
# A book is worked out on one core; the machine's other cores have books of their own.
ONE_CORE = {"POLARS_MAX_THREADS": "1", "OMP_NUM_THREADS": "1", "DO_NOT_TRACK": "1"}


@dataclass(frozen=True, slots=True)
class Cluster:
    """A scheduler's address, and the processes that work for it, each with its nanny."""

    address: str
    workers: "list[subprocess.Popen[bytes]]"

    def kill(self, worker: int) -> None:
        """Kill a worker with its nanny, as a machine that fails."""
        process = self.workers[worker]
        os.killpg(process.pid, signal.SIGKILL)
        process.wait(10)

    def load(self) -> None:
        """Have each worker import what its tasks need; else the first task waits for it."""
        with Client(self.address, timeout=PATIENCE_S) as client:
            client.run(_import_all)

    def ask(self, what: Callable[[], Any]) -> list[Any]:
        """Return what a function gives on each worker that answers."""
        with Client(self.address, timeout=PATIENCE_S) as client:
            return list(cast(dict[str, Any], client.run(what, on_error="ignore")).values())


def _import_all() -> None:
    importlib.import_module("pipeline.flows.union")


@contextlib.contextmanager
def cluster(workers: int) -> Generator[Cluster]:
    """Start a scheduler and workers of one thread each, and end them all."""
    with tempfile.TemporaryDirectory(prefix="weighbook-dask-") as folder:
        note = Path(folder) / "scheduler.json"
        at = ["--host", "127.0.0.1", "--port", "0"]
        scheduler = _start("dask_scheduler", note, *at)
        work = ["--nthreads", "1", "--memory-limit", "0"]
        processes = [_start("dask_worker", note, *work) for _ in range(workers)]
        try:
            yield Cluster(_address(note, workers), processes)
        finally:
            for process in (*processes, scheduler):
                with contextlib.suppress(ProcessLookupError):
                    os.killpg(process.pid, signal.SIGKILL)
                process.wait(10)


def _start(program: str, note: Path, *how: str) -> "subprocess.Popen[bytes]":
    command = [sys.executable, "-m", f"distributed.cli.{program}", "--no-dashboard", *how]
    return subprocess.Popen(
        [*command, "--scheduler-file", str(note)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env=os.environ | ONE_CORE,
        cwd=note.parent,
        start_new_session=True,
    )


def _address(note: Path, workers: int) -> str:
    end = time.monotonic() + PATIENCE_S
    while not note.exists() or not note.read_text("utf-8").strip():
        if time.monotonic() > end:
            raise ServiceError("The Dask scheduler of this machine did not start in two minutes.")
        time.sleep(0.1)
    address: str = json.loads(note.read_text("utf-8"))["address"]
    with Client(address, timeout=PATIENCE_S) as client:
        client.wait_for_workers(workers, timeout=PATIENCE_S)
    return address
