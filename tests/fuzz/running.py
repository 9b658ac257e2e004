"""Runs inputs one after another, makes what breaks a promise smaller, and keeps it."""

import hashlib
import resource
import signal
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path

from tests.fuzz.inputs import Input, made
from tests.fuzz.promises import Readable, look, read, type_together

FOUND = Path(__file__).parent / "found"
# Seconds that one input may take, on a machine that has others to serve too; and MiB in all.
LONGEST = 10
MOST_MIB = 1024
TRIES = 200
ByKind = dict[str, list[Readable]]


class TooLong(Exception):
    """An input took too long."""


@dataclass(slots=True)
class Outcome:
    """What came of some inputs: how many, by code, the slowest, the faults by their sentence."""

    inputs: int = 0
    codes: Counter[str] = field(default_factory=Counter[str])
    faults: dict[str, int] = field(default_factory=dict[str, int])
    slowest: tuple[float, int] = (0.0, -1)
    mebibytes: int = 0


def run(seed: int, numbers: range, keep: bool = True) -> Outcome:
    """Look at some inputs; a fault is told once, by its first input, which is kept made smaller."""
    outcome = Outcome()
    of_kind: ByKind = {}
    for number in numbers:
        began = time.perf_counter()
        given = made(seed, number)
        codes, fault = caught(lambda given=given, number=number: _gather(given, number, of_kind))
        outcome.codes.update(["fault"] if fault else codes)
        outcome.slowest = max(outcome.slowest, (time.perf_counter() - began, number))
        note(outcome, seed, fault, number, keep)
    # Typed in one go a kind, as `take` does: alone, each would take fifty times as long.
    for sheets in of_kind.values():
        type_some(outcome, seed, sheets, keep)
    outcome.inputs = len(numbers)
    outcome.mebibytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss >> 10
    if outcome.mebibytes > MOST_MIB:
        outcome.faults[f"memory: {outcome.mebibytes} MiB"] = numbers[-1]
    return outcome


def _gather(given: Input, number: int, of_kind: ByKind) -> list[str]:
    codes, sheets = read(given, number)
    for sheet in sheets:
        of_kind.setdefault(sheet.kind.name, []).append(sheet)
    return codes


def type_some(outcome: Outcome, seed: int, sheets: list[Readable], keep: bool) -> None:
    """Type sheets of one kind; where that breaks something, halve them until the sheet is found."""
    codes, fault = caught(lambda: type_together(sheets), LONGEST * (1 + len(sheets) // 2))
    if not fault:
        outcome.codes.update(codes)
    elif len(sheets) == 1:
        outcome.codes.update(["fault"])
        note(outcome, seed, fault, sheets[0].number, keep)
    else:
        before = outcome.codes["fault"]
        half = len(sheets) // 2
        type_some(outcome, seed, sheets[:half], keep)
        type_some(outcome, seed, sheets[half:], keep)
        if outcome.codes["fault"] == before:
            note(outcome, seed, f"only together: {fault}", sheets[0].number, keep=False)


def note(outcome: Outcome, seed: int, fault: str, number: int, keep: bool) -> None:
    """Note a fault, and keep its input, unless one like it was noted."""
    if fault and kind_of_fault(fault) not in map(kind_of_fault, outcome.faults):
        outcome.faults[fault] = number
        if keep:
            kept(made(seed, number), fault, number)


def caught(act: Callable[[], list[str]], seconds: int = LONGEST) -> tuple[list[str], str]:
    """Return the codes that an act gives, and what was wrong with it, or ""."""
    try:
        with _at_most(seconds):
            return act(), ""
    except KeyboardInterrupt:
        raise
    except BaseException as error:
        # A fault inside a library may come as a panic, which is no Exception.
        at = error.__traceback__
        place = ""
        while at is not None:
            file = Path(at.tb_frame.f_code.co_filename)
            if "pipeline" in file.parts or file.name == "promises.py":
                place = f"{file.name}:{at.tb_lineno}"
            at = at.tb_next
        told = error.args[0] if error.args else error
        return [], f"{type(error).__name__} at {place}: {str(told)[:200]}"


def kind_of_fault(fault: str) -> str:
    """Return a fault without what differs from input to input."""
    return "".join(letter for letter in fault.partition(" row")[0] if not letter.isdigit())[:70]


@contextmanager
def _at_most(seconds: int) -> Iterator[None]:
    def stop(*_: object) -> None:
        raise TooLong(f"more than {seconds} s")

    signal.signal(signal.SIGALRM, stop)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)


def kept(given: Input, fault: str, number: int) -> Path:
    """Keep an input that breaks a promise, as small as it can be made, beside what it breaks."""

    def breaks(content: bytes) -> bool:
        again = caught(lambda: look(replace(given, content=content, rows=None)))[1]
        return kind_of_fault(again) == kind_of_fault(fault)

    small = smaller(given.content, breaks)
    FOUND.mkdir(exist_ok=True)
    path = FOUND / f"{hashlib.sha256(small).hexdigest()[:12]}.bin"
    path.write_bytes(small)
    path.with_suffix(".txt").write_text(f"input {number}, name {given.name!r}\n{fault}\n", "utf-8")
    return path


def smaller(content: bytes, breaks: Callable[[bytes], bool]) -> bytes:
    """Return a smaller text of bytes that still breaks the same, as far as some tries lead."""
    tries = 0
    size = len(content) // 2
    while size and tries < TRIES:
        at = 0
        while at < len(content) and tries < TRIES:
            tries += 1
            shorter = content[:at] + content[at + size :]
            if breaks(shorter):
                content = shorter
            else:
                at += size
        size //= 2
    return content
