"""The supervisor: order of starting, starting again with waits, hung processes, no orphans."""

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from pipeline.service import supervise
from pipeline.service.supervise import READY, STOPPED, Supervisor, Task
from tests.service.conftest import until

ROOT = Path(__file__).parents[2]


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(supervise, "LOOK_S", 0.05)
    monkeypatch.setattr(supervise, "FIRST_WAIT_S", 0.1)
    monkeypatch.setattr(supervise, "MOST_VAIN", 3)


@pytest.fixture
def program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Task]:
    """Make a task of a few lines of Python; it is healthy while its file is there."""
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))

    def made(name: str, text: str, before: tuple[str, ...] = ()) -> Task:
        (tmp_path / f"{name}_program.py").write_text("import time, pathlib, os\n" + text)
        sign = tmp_path / f"{name}.sign"
        return Task(
            name=name,
            command=(f"{name}_program",),
            healthy=sign.exists,
            env={"SIGN": str(sign)},
            before=before,
        )

    return made


READIES = "pathlib.Path(os.environ['SIGN']).touch()\n"
STAYS = READIES + "time.sleep(60)\n"


class Running:
    def __init__(self, tmp_path: Path, *tasks: Task) -> None:
        self.states: list[dict[str, str]] = []
        self.supervisor = Supervisor(tasks, tmp_path / "logs", self._note)
        self.thread = threading.Thread(target=self.supervisor.run)
        self.thread.start()

    def _note(self, one: Supervisor) -> None:
        self.states.append({name: child.state for name, child in one.children.items()})

    def end(self) -> None:
        self.supervisor.stop()
        self.thread.join(30)
        assert not self.thread.is_alive()


def test_each_starts_once_those_before_it_are_ready_and_all_end(
    tmp_path: Path, program: Callable[..., Task]
) -> None:
    one = program("one", "time.sleep(0.3)\n" + STAYS)
    two = program("two", "print('here'); assert pathlib.Path('nowhere')\n" + STAYS, ("one",))
    running = Running(tmp_path, one, two)
    children = running.supervisor.children
    until(lambda: all(child.state == READY for child in children.values()))
    assert children["one"].ready_after < children["two"].ready_after
    pids = [child.pid for child in children.values()]
    running.end()
    assert all(child.state == STOPPED for child in children.values())
    for pid in pids:
        with pytest.raises(ProcessLookupError):
            os.kill(pid, 0)


@pytest.mark.long
def test_who_ends_is_started_again_after_longer_and_longer_waits(
    tmp_path: Path, program: Callable[..., Task]
) -> None:
    running = Running(tmp_path, program("ends", "print('no luck'); raise SystemExit(3)"))
    child = running.supervisor.children["ends"]
    until(lambda: child.restarts >= 3)
    assert child.last_end == "ended with 3" and child.wait_s >= 0.8
    running.end()
    assert "no luck" in (tmp_path / "logs" / "ends.log").read_text()


@pytest.mark.long
def test_who_is_killed_or_hangs_is_started_again_and_the_others_stay(
    tmp_path: Path, program: Callable[..., Task]
) -> None:
    running = Running(tmp_path, program("one", STAYS), program("two", STAYS))
    one, two = running.supervisor.children.values()
    until(lambda: one.state == READY and two.state == READY)
    kept = two.pid
    os.kill(one.pid, signal.SIGKILL)
    until(lambda: one.restarts == 1 and one.state == READY)
    assert one.last_end == f"ended with {-signal.SIGKILL}"
    (tmp_path / "one.sign").unlink()
    until(lambda: one.restarts == 2 and one.state == READY)
    assert one.last_end == "did not answer any more"
    assert (two.pid, two.restarts) == (kept, 0)
    running.end()


def test_a_process_ends_when_its_supervisor_is_killed(tmp_path: Path) -> None:
    child = (
        "import time; from pipeline.service.child import end_with_parent; "
        "end_with_parent(); print('up', flush=True); time.sleep(60)"
    )
    parent = (
        "import subprocess, sys, time\n"
        f"p = subprocess.Popen([sys.executable, '-c', {child!r}], stdin=subprocess.PIPE)\n"
        "print(p.pid, flush=True)\ntime.sleep(60)\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", parent], stdout=subprocess.PIPE, text=True, cwd=ROOT
    ) as process:
        assert process.stdout is not None
        said = {process.stdout.readline().strip() for _ in range(2)}
        (pid,) = (int(line) for line in said if line.isdigit())
        assert "up" in said
        process.kill()
    until(lambda: not alive(pid), 30)


def alive(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


def test_who_grows_beyond_what_it_may_hold_is_started_anew(
    tmp_path: Path, program: Callable[..., Task], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(supervise, "WEIGH_S", 0.05)
    grows = "kept = b'1' * (80 << 20) if not os.path.exists(os.environ['SIGN']) else b''\n" + STAYS
    stays = replace(program("stays", STAYS), most_mib=60)
    running = Running(tmp_path, replace(program("grows", grows), most_mib=60), stays)
    large, small = running.supervisor.children.values()
    until(lambda: large.restarts == 1 and large.state == READY)
    assert large.last_end == "held more than 60 MiB of memory"
    time.sleep(0.3)
    running.end()
    assert (large.restarts, small.restarts) == (1, 0)


@pytest.mark.long
def test_a_child_that_is_slow_to_be_ready_is_given_its_time(
    tmp_path: Path, program: Callable[..., Task]
) -> None:
    running = Running(tmp_path, program("slow", "time.sleep(0.6)\n" + STAYS))
    child = running.supervisor.children["slow"]
    begun = time.monotonic()
    until(lambda: child.state == READY)
    assert child.restarts == 0 and time.monotonic() - begun >= 0.5
    running.end()
