"""A union on real workers: one is killed in mid-run, and every figure held against one book alone.

The same books are brought up to date by the plain functions one after the other, by one worker,
by all workers, and by all workers of which one is killed with its nanny. The second run over what
is done must change nothing.
"""

import shutil
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from pipeline.bench.peak import peak_mib
from pipeline.bench.season import AT, WEEKS
from pipeline.book.book import Book, new_book, now
from pipeline.keep import keep_by_day
from pipeline.samples.__main__ import write
from pipeline.samples.sheets import by_week
from pipeline.union.report import books_in, write_report
from pipeline.union.summary import TABLES, summarise

# So many seasons are drawn; further books hold one of these again.
DRAWN = 8
DELIVERIES_A_MEMBER = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Union:
    """What a trial came to.

    `rows_equal`: summaries, ledgers and report are those of the plain functions, byte for byte;
    `unchanged`: running again wrote nothing; `gain`: seconds of one worker over those of all;
    `worker_mib`: the most memory that a worker held.
    """

    books: int
    deliveries: int
    workers: int
    killed: int
    rows_equal: bool
    unchanged: bool
    gain: float
    one_s: float
    all_s: float
    worker_mib: float


def measure_union(
    books: int,
    deliveries: int,
    workers: int,
    *,
    told: Callable[[str], None] = lambda _: None,
) -> Union:
    """Run a union of so many books of so many deliveries each on so many workers."""
    with tempfile.TemporaryDirectory(prefix="weighbook-union-") as name:
        top = Path(name)
        told(f"drawing {books} books of {deliveries:,} deliveries")
        where = _draw(top, books, deliveries)
        told("one book after the other")
        alone = top / "alone"
        alone.mkdir()
        write_report(str(alone), [summarise(book, str(alone)) for book in books_in(str(where))])
        outs = {what: top / what for what in ("one", "all", "killed")}
        # First: it starts Prefect's server too, which then serves the runs that are timed.
        told(f"{workers} workers, one of which is killed, and the same once more")
        killed, unchanged = kill_one(where, outs["killed"], workers)
        told("one worker")
        one_s, _ = _timed(where, outs["one"], 1)
        told(f"{workers} workers")
        all_s, worker_mib = _timed(where, outs["all"], workers)
        return Union(
            books=books,
            deliveries=deliveries,
            workers=workers,
            killed=killed,
            rows_equal=all(same(out, alone) for out in outs.values()),
            unchanged=unchanged,
            gain=round(one_s / all_s, 2),
            one_s=round(one_s, 1),
            all_s=round(all_s, 1),
            worker_mib=round(worker_mib),
        )


def same(one: Path, other: Path) -> bool:
    """Tell whether two runs wrote the same summaries and the same report."""
    files = [{path.relative_to(out) for path in out.rglob("*.*")} for out in (one, other)]
    return files[0] == files[1] and all(
        (one / path).read_bytes() == (other / path).read_bytes() for path in files[0]
    )


def _draw(top: Path, books: int, deliveries: int) -> Path:
    """Make the books: their sheets are in the journal, and no season is worked out."""
    drawn = min(books, DRAWN)
    for n in range(drawn):
        people = max(8, deliveries // DELIVERIES_A_MEMBER)
        write(
            top / f"drawn-{n}",
            people=people,
            weeks=WEEKS,
            seed=100 + n,
            per_member=deliveries / people,
            places=max(1, min(40, people // 100)),
        )
    where = top / "books"
    for n in range(books):
        folder = top / f"drawn-{n % drawn}"
        book = new_book(where / f"book-{n:03d}", (folder / "book.toml").read_text("utf-8"), AT)
        keep_by_day(book, by_week(folder / "season"), by="clerk", at=now())
    return where


def _forget_seasons(where: Path) -> None:
    for book in books_in(str(where)):
        seasons = Book(Path(book)).seasons
        shutil.rmtree(seasons)
        seasons.mkdir()


def kill_one(where: Path, out: Path, workers: int) -> tuple[int, bool]:
    """Run a union and kill a worker with its nanny in the midst of it, then run it once more.

    Returns how many were killed, and whether the second run left every summary as it was.
    """
    from pipeline.flows.cluster import cluster
    from pipeline.flows.union import run_union

    _forget_seasons(where)
    with cluster(workers) as at:
        at.load()
        killer = _Killer(out, lambda: at.kill(0))
        killer.start()
        run_union(str(where), str(out), scheduler=at.address, a_task=1)
        killer.join(10)
        before = _written(out)
        run_union(str(where), str(out), scheduler=at.address, a_task=3)
    return killer.killed, _written(out) == before


def _timed(where: Path, out: Path, workers: int) -> tuple[float, float]:
    """Return the seconds of so many workers, once loaded, and the most memory of one in MiB."""
    from pipeline.flows.cluster import cluster
    from pipeline.flows.union import run_union

    _forget_seasons(where)
    with cluster(workers) as at:
        at.load()
        began = time.perf_counter()
        run_union(str(where), str(out), scheduler=at.address, a_task=1)
        return time.perf_counter() - began, max(at.ask(peak_mib))


class _Killer(threading.Thread):
    """Kills a worker once the first book's summaries are written."""

    def __init__(self, out: Path, kill: Callable[[], None]) -> None:
        super().__init__(daemon=True)
        self.killed = 0
        self._out = out
        self._kill = kill

    def run(self) -> None:
        first = self._out / TABLES[-1]
        # A file that is being written has another name until it is whole.
        while not any(first.glob("*.parquet")):
            time.sleep(0.02)
        self._kill()
        self.killed += 1


def _written(out: Path) -> dict[Path, int]:
    """Return when each summary was written."""
    return {path: path.stat().st_mtime_ns for path in out.rglob("*.parquet")}
