"""Reads a hundred thousand made inputs: `make fuzz ARGS="--seed 2 --inputs 1000"`."""

import argparse
import sys
import time
from concurrent.futures import ProcessPoolExecutor, as_completed

from tests.fuzz.running import FOUND, Outcome, kind_of_fault, run

AT_ONCE = 2000


def main() -> int:
    parser = argparse.ArgumentParser(prog="make fuzz", description=__doc__)
    parser.add_argument("--inputs", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--start", type=int, default=0, help="number of the first input")
    parser.add_argument("--processes", type=int, default=2)
    given = parser.parse_args()
    began = time.perf_counter()
    end = given.start + given.inputs
    whole = Outcome()
    with ProcessPoolExecutor(given.processes) as pool:
        waiting = {
            pool.submit(run, given.seed, range(n, min(n + AT_ONCE, end))): n
            for n in range(given.start, end, AT_ONCE)
        }
        for done in as_completed(waiting):
            try:
                add(whole, done.result())
                if sys.stderr.isatty():
                    print(f"{whole.inputs} inputs", end="\r", file=sys.stderr)
            except Exception as error:
                first = waiting[done]
                whole.faults[f"a process ended in inputs {first} to {first + AT_ONCE}"] = first
                print(f"{type(error).__name__}: {error}", file=sys.stderr)
    tell(whole, given.seed, time.perf_counter() - began)
    return 1 if whole.faults else 0


def add(whole: Outcome, some: Outcome) -> None:
    """Add what came of some inputs."""
    whole.inputs += some.inputs
    whole.codes.update(some.codes)
    whole.slowest = max(whole.slowest, some.slowest)
    whole.mebibytes = max(whole.mebibytes, some.mebibytes)
    for fault, number in some.faults.items():
        if kind_of_fault(fault) not in map(kind_of_fault, whole.faults):
            whole.faults[fault] = number


def tell(whole: Outcome, seed: int, seconds: float) -> None:
    """Print the summary, then each fault with the number of an input that shows it."""
    read = whole.codes["read"]
    refused = sum(whole.codes.values()) - read - whole.codes["fault"]
    print(
        f"seed {seed}: {whole.inputs} inputs in {seconds:.0f} s ({whole.inputs / seconds:.0f}/s), "
        f"{read} sheets read, {refused} not read, {len(whole.faults)} kinds of fault; slowest "
        f"{whole.slowest[0]:.2f} s (input {whole.slowest[1]}), {whole.mebibytes} MiB"
    )
    codes = (f"{code} {count}" for code, count in whole.codes.most_common())
    print("  " + ", ".join(codes))
    for fault, number in whole.faults.items():
        print(f"fault, input {number}: {fault}")
    if whole.faults:
        print(f"Each is kept, made smaller, in {FOUND.relative_to(FOUND.parents[2])}/.")


if __name__ == "__main__":
    sys.exit(main())
