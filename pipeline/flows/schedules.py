"""The schedules of a book as Prefect deployments: one a chore, served one at a time.

Each flow first asks the book whether its chore is still due: after hours without a runner, Prefect
has every missed run carried out, and all but one of them end at once.
"""

from pathlib import Path
from typing import Any, cast

from prefect import flow, get_run_logger, task
from prefect.artifacts import create_markdown_artifact, create_table_artifact
from prefect.client.schemas.objects import FlowRun, State
from prefect.deployments.runner import RunnerDeployment
from prefect.flows import Flow
from prefect.schedules import Interval, RRule, Schedule
from prefect.types.entrypoint import EntrypointType

from pipeline.book.book import now, open_book
from pipeline.book.clock import fast_clock, utc_now
from pipeline.errors import BookError, DamageError
from pipeline.service.chores import CHORES, carry_out
from pipeline.service.config import ServiceSettings, next_time, service_settings
from pipeline.service.tell import tell

WAITS_S = [30.0, 120.0, 600.0]


def _may_help(_task: object, _run: object, state: object) -> bool:
    """Try again only what may be otherwise next time: a book in use, a disk that was away."""
    result = getattr(state, "result", None)
    error = result(raise_on_failure=False) if callable(result) else None
    return isinstance(error, BookError | OSError) and not isinstance(error, DamageError)


def _tell_of_failure(flow: Flow[..., Any], flow_run: FlowRun, state: State[Any]) -> None:
    """Tell the manager that a chore was not done, with the sentence why."""
    book, chore = open_book(Path(flow_run.parameters["book"])), str(flow_run.parameters["chore"])
    said = f"{CHORES[chore].about}: not done. {state.message or state.name}"
    tell(book, service_settings(book), f"{chore} failed", [said], now())


@task(retries=len(WAITS_S), retry_delay_seconds=WAITS_S, retry_condition_fn=_may_help)
def do(book: Path, chore: str, even_if_done: bool) -> dict[str, Any]:
    """Do a chore where it is due, and leave what came of it."""
    at = now()
    outcome = carry_out(open_book(book), chore, at, even_if_done=even_if_done)
    if outcome is None:
        return {"done": False, "says": "It was done before; nothing was to be made up."}
    if outcome.table:
        create_table_artifact(key=chore, table=list(outcome.table), description=outcome.says)
    if outcome.page:
        create_markdown_artifact(key=f"{chore}-page", markdown=outcome.page)
    return {"done": True, "says": outcome.says, "wrong": list(outcome.wrong)}


@flow(log_prints=False, on_failure=[_tell_of_failure], on_crashed=[_tell_of_failure])
def chore_flow(book: Path, chore: str, even_if_done: bool = False) -> dict[str, Any]:
    """Do one chore of a book, and tell the manager what is wrong, once."""
    done = do(book, chore, even_if_done)
    get_run_logger().info("%s: %s", chore, done["says"])
    if done["done"]:
        opened = open_book(book)
        tell(opened, service_settings(opened), f"{chore} failed", [], now())
        tell(opened, service_settings(opened), chore, done["wrong"], now())
    return done


def _named(name: str) -> Flow[..., dict[str, Any]]:
    """Return the flow under a chore's name, so that Prefect's pages tell them apart."""
    return chore_flow.with_options(name=name, description=CHORES[name].about)


def _schedule(service: ServiceSettings, name: str) -> Schedule:
    """Return a chore's times; by a trial's clock, each so much sooner after the other."""
    fast = fast_clock()
    if fast is None:
        return RRule(service.times[name], timezone=service.timezone)
    first = next_time(service.times[name], service.local(utc_now()))
    second = next_time(service.times[name], first)
    return Interval(
        fast.real_span(second - first), anchor_date=fast.really(first.replace(tzinfo=service.zone))
    )


def deployments(book: Path) -> list[RunnerDeployment]:
    """Return a deployment a chore, on the book's own times."""
    service = service_settings(open_book(book))
    made = [
        _named(name).to_deployment(
            name=book.name,
            schedule=_schedule(service, name),
            parameters={"book": str(book), "chore": name},
            description=chore.about,
            tags=["weighbook"],
            # By its module: wherever the service is started from, a run finds it.
            entrypoint_type=EntrypointType.MODULE_PATH,
        )
        for name, chore in CHORES.items()
    ]
    # Outside a running loop the call is made at once; its type cannot say so.
    return cast(list[RunnerDeployment], made)
