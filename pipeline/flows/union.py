"""Brings the books of a union up to date on many workers: a Prefect flow with the Dask task runner.

Prefect keeps the record and tries again, Dask spreads; a worker that dies costs a retry and no row.
"""

from pathlib import Path
from typing import Any, cast

import dask.config
from dask.distributed import Client
from prefect import flow, get_run_logger, task
from prefect.artifacts import create_table_artifact
from prefect_dask.task_runners import DaskTaskRunner

from pipeline.errors import ServiceError
from pipeline.flows.cluster import ONE_CORE
from pipeline.season.schema import makings_hash
from pipeline.storage import is_address
from pipeline.union.report import books_in, write_report
from pipeline.union.summary import Summarised, summarise

BOOKS_A_TASK = 5


@task(retries=2, retry_delay_seconds=[2.0, 10.0])
def summarise_books(books: list[str], out: str, scratch: str) -> list[Summarised]:
    """Bring some books up to date, one after the other, on one core: the others have theirs."""
    return [summarise(book, out, scratch, threads=1) for book in books]


@flow(name="union", log_prints=False)
def union_flow(books: list[str], out: str, a_task: int, scratch: str) -> dict[str, Any]:
    """Bring all books up to date, then add their summaries up."""
    some = [books[start : start + a_task] for start in range(0, len(books), a_task)]
    waiting = [summarise_books.submit(group, out, scratch) for group in some]
    done = [one for future in waiting for one in future.result()]
    report = write_report(out, done)
    table = [{key: str(value) for key, value in one.items()} for one in report["by_book"]]
    create_table_artifact(key="union", table=table, description=f"{len(done)} books")
    get_run_logger().info("%s books, %s not read", report["books"], len(report["not_read"]))
    return report


def run_union(
    where: str,
    out: str,
    *,
    scheduler: str = "",
    workers: int = 2,
    a_task: int = BOOKS_A_TASK,
    scratch: str = "",
) -> dict[str, Any]:
    """Run the union over all books below a folder; ServiceError where it cannot begin.

    `scheduler`: the address of a Dask scheduler; without one, processes of this machine work.
    """
    books = books_in(where)
    if not books:
        raise ServiceError(f"There is no book below {where}. Name the folder that holds the books.")
    if not is_address(out):
        out = str(Path(out).absolute())
        Path(out).mkdir(parents=True, exist_ok=True)
    if scheduler:
        refuse_other_versions(scheduler)
        runner = DaskTaskRunner(address=scheduler)
    else:
        # What the library reads when it is loaded must be known before a worker begins.
        dask.config.set({"distributed.nanny.pre-spawn-environ": ONE_CORE})
        runner = DaskTaskRunner(
            cluster_kwargs={
                "n_workers": workers,
                "threads_per_worker": 1,
                "dashboard_address": None,
            }
        )
    # Its futures are of a kind of their own, which its types do not say.
    run = union_flow.with_options(task_runner=cast(Any, runner))
    return run(books, out, a_task, scratch)


def refuse_other_versions(scheduler: str) -> None:
    """Refuse a scheduler out of reach or without worker, and workers that judge otherwise."""
    try:
        with Client(scheduler, timeout=10) as client:
            made = cast(dict[str, str], client.run(makings_hash, on_error="ignore"))
    except (OSError, TimeoutError):
        raise ServiceError(
            f"The scheduler {scheduler} cannot be reached. Start it with: dask scheduler"
        ) from None
    if not made:
        raise ServiceError(
            f"The scheduler {scheduler} has no worker. Start some with: dask worker {scheduler}"
        )
    others = [worker for worker, one in made.items() if one != makings_hash()]
    if others:
        raise ServiceError(
            f"The worker {others[0]} is of another version of Weighbook. Install the same on all."
        )
