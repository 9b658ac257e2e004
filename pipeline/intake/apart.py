"""Opens a workbook in a process of its own, with little memory: a trial before it is read here.

A few wrong bytes can make the library ask for more memory than any machine has, and that ends the
process it runs in; this one may end so.
"""

import subprocess
import sys
from contextlib import suppress

import fastexcel

MOST_BYTES = 4 << 30
SECONDS = 60


def opens(content: bytes) -> bool:
    """Tell whether a workbook can be opened within a limit of memory and of time.

    One that is refused for a reason that the library can tell counts as opened: it will tell it
    again.
    """
    command = [sys.executable, "-m", "pipeline.intake.apart"]
    try:
        ended = subprocess.run(
            command, input=content, timeout=SECONDS, check=False, capture_output=True
        )
    except subprocess.TimeoutExpired:
        return False
    return ended.returncode == 0


def _open_all(content: bytes) -> None:
    with suppress(Exception):
        reader = fastexcel.read_excel(content)
        for name in reader.sheet_names:
            reader.load_sheet(name, header_row=None, dtypes="string")


def _limit_memory() -> None:
    # Windows has no such limit: there the time alone bounds the trial.
    with suppress(ImportError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))


if __name__ == "__main__":
    _limit_memory()
    _open_all(sys.stdin.buffer.read())
