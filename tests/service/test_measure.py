"""What processes hold, as `status` and the week's trial tell it."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from pipeline.service.measure import age_s, held


def test_memory_and_files_that_a_process_takes_are_seen(tmp_path: Path) -> None:
    before = held(os.getpid(), alone=True)
    taken = b"\1" * (64 << 20)
    files = [(tmp_path / f"{n}").open("w") for n in range(20)]
    during = held(os.getpid(), alone=True)
    for file in files:
        file.close()
    assert during.memory_mib - before.memory_mib > 55 and len(taken)
    assert during.files - before.files == 20


def test_what_a_process_started_counts_with_it_and_one_that_is_gone_holds_nothing() -> None:
    with subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE) as child:
        whole, alone = held(os.getpid()), held(os.getpid(), alone=True)
        assert whole.processes >= 2 and alone.processes == 1
        assert held(child.pid).memory_mib > 1
        child.kill()
    assert held(child.pid) == held(child.pid, alone=True)
    assert (held(child.pid).memory_mib, held(child.pid).processes) == (0, 0)
    assert age_s() > 0


@pytest.mark.parametrize("module", ["pipeline.service.up", "pipeline.flows.runner"])
def test_what_only_watches_and_waits_loads_no_library_for_tables(module: str) -> None:
    heavy = ("polars", "duckdb", "numpy", "pyarrow")
    text = f"import sys, {module}; print(*(one for one in {heavy} if one in sys.modules))"
    done = subprocess.run([sys.executable, "-c", text], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []
