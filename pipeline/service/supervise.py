"""Keeps processes running: starts each in its turn, starts it again when it ends, with waits.

A child ends by itself when its supervisor is gone, however that went: it reads its standard input,
which ends with whoever holds the other side.
"""

import logging
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from logging.handlers import RotatingFileHandler
from pathlib import Path

from pipeline.service.measure import held

WAITING, STARTING, READY, AGAIN, STOPPED = "waits", "starting", "ready", "starts again", "stopped"
FIRST_WAIT_S, LONGEST_WAIT_S = 1.0, 60.0
# Who has run so long starts again at once, as if for the first time.
STEADY_S = 120.0
# Looked at this often, and taken for hung after so many looks in vain.
LOOK_S, MOST_VAIN = 5.0, 12
# Memory is looked at this often.
WEIGH_S = 60.0
LOG_BYTES, LOGS = 2_000_000, 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A process to keep: its command, whether it is `healthy` now, what must be ready `before` it.

    `patience_s`: how long it may take to be ready for the first time. `most_mib`: the memory beyond
    which it is started anew, 0 for any: a library that leaks a little fills the machine in a year.
    """

    name: str
    command: Sequence[str]
    healthy: Callable[[], bool]
    env: dict[str, str] = field(default_factory=dict[str, str])
    before: tuple[str, ...] = ()
    patience_s: float = 120.0
    most_mib: float = 0.0


@dataclass(slots=True)
class Child:
    """A task as it runs."""

    task: Task
    state: str = WAITING
    process: "subprocess.Popen[bytes] | None" = None
    started: float = 0.0
    ready_after: float = 0.0
    restarts: int = 0
    vain: int = 0
    wait_s: float = FIRST_WAIT_S
    again_at: float = 0.0
    last_end: str = ""
    weighed: float = 0.0

    @property
    def pid(self) -> int:
        """The number of its process, 0 where it runs none."""
        return self.process.pid if self.process and self.process.poll() is None else 0


class Supervisor:
    """Runs tasks until `stop`; `changed` is called whenever the state of one is another.

    `before_s`: how long ago what people wait for began, such as the command that starts it.
    """

    def __init__(
        self,
        tasks: Sequence[Task],
        logs: Path,
        changed: Callable[["Supervisor"], None],
        before_s: float = 0.0,
    ) -> None:
        self.children = {task.name: Child(task) for task in tasks}
        self.begun = time.monotonic() - before_s
        self._logs = logs
        self._changed = changed
        self._stop = threading.Event()

    def stop(self) -> None:
        """End after this look; safe in a signal handler."""
        self._stop.set()

    def run(self) -> None:
        """Keep all tasks running until stopped, then end them, the last started first."""
        self._logs.mkdir(parents=True, exist_ok=True)
        try:
            while not self._stop.is_set():
                before = self._states()
                for child in self.children.values():
                    self._look(child)
                if self._states() != before:
                    self._changed(self)
                hurried = any(child.state in (STARTING, AGAIN) for child in self._all())
                self._stop.wait(0.1 if hurried else LOOK_S)
        finally:
            for child in reversed(self._all()):
                self._end(child)
                child.state = STOPPED
            self._changed(self)

    def _all(self) -> list[Child]:
        return list(self.children.values())

    def _states(self) -> list[tuple[str, int]]:
        return [(child.state, child.restarts) for child in self._all()]

    def _look(self, child: Child) -> None:
        now = time.monotonic()
        if child.process is None:
            ready = all(self.children[name].state == READY for name in child.task.before)
            if ready and now >= child.again_at:
                self._start(child)
            elif not ready and child.state != AGAIN:
                child.state = WAITING
            return
        ended = child.process.poll()
        if ended is not None:
            self._again(child, f"ended with {ended}")
        elif child.task.healthy():
            if child.state != READY:
                child.state = READY
                child.ready_after = child.ready_after or now - self.begun
            child.vain = 0
            if now - child.started > STEADY_S:
                child.wait_s = FIRST_WAIT_S
            if child.task.most_mib and now - child.weighed > WEIGH_S:
                child.weighed = now
                if held(child.pid, alone=True).memory_mib > child.task.most_mib:
                    self._again(child, f"held more than {child.task.most_mib:.0f} MiB of memory")
        elif child.state == READY:
            child.vain += 1
            if child.vain >= MOST_VAIN:
                self._again(child, "did not answer any more")
        elif now - child.started > child.task.patience_s:
            self._again(child, f"was not ready after {child.task.patience_s:.0f} s")

    def _start(self, child: Child) -> None:
        try:
            child.process = subprocess.Popen(
                [sys.executable, "-m", *child.task.command],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
                env=os.environ | child.task.env,
                # Ctrl+C is for the supervisor alone, which ends each in its turn.
                start_new_session=os.name == "posix",
                creationflags=getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0),
            )
        except OSError as error:
            self._again(child, f"could not be started: {error.strerror}")
            return
        child.started, child.state, child.vain = time.monotonic(), STARTING, 0
        threading.Thread(
            target=self._keep_log, args=(child.task.name, child.process), daemon=True
        ).start()

    def _keep_log(self, name: str, process: "subprocess.Popen[bytes]") -> None:
        """Write what a child prints to its log, which is turned over before it grows large."""
        log = logging.Logger(name)
        handler = RotatingFileHandler(
            self._logs / f"{name}.log", maxBytes=LOG_BYTES, backupCount=LOGS, encoding="utf-8"
        )
        handler.setFormatter(logging.Formatter("%(asctime)s %(message)s"))
        log.addHandler(handler)
        logging.raiseExceptions = False
        assert process.stdout is not None
        with process.stdout as lines:
            for line in lines:
                log.info("%s", line.decode("utf-8", "replace").rstrip())
        handler.close()

    def _again(self, child: Child, why: str) -> None:
        self._end(child)
        child.process, child.state, child.last_end = None, AGAIN, why
        child.restarts += 1
        child.again_at = time.monotonic() + child.wait_s
        child.wait_s = min(LONGEST_WAIT_S, child.wait_s * 2)

    def _end(self, child: Child, wait_s: float = 20.0) -> None:
        """Ask a child to end, then end it; also where it hangs."""
        process = child.process
        if process is None:
            return
        if process.poll() is None:
            process.terminate()
            try:
                process.wait(wait_s)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait(10)
        if process.stdin:
            process.stdin.close()
