"""Serves the schedules of a book, as a process of the service; what was missed is made up first."""

import os
import sys
import threading
import time
from pathlib import Path

from prefect import serve
from prefect.client.orchestration import get_client
from prefect.deployments.runner import RunnerDeployment

from pipeline.book.book import now, open_book
from pipeline.flows.schedules import deployments
from pipeline.service.child import end_with_parent
from pipeline.service.chores import CHORES, due
from pipeline.service.config import service_settings
from pipeline.service.up import answers

ALIVE_EVERY_S = 20.0


def make_up(book: Path, made: list[RunnerDeployment]) -> list[str]:
    """Ask for a run of each chore whose time was missed, and return their names."""
    opened = open_book(book)
    service = service_settings(opened)
    missed = [
        (one, name)
        for one, name in zip(made, CHORES, strict=True)
        if due(opened, service, name, now()) is not None
    ]
    with get_client(sync_client=True) as client:
        for one, name in missed:
            there = client.read_deployment_by_name(f"{one.flow_name}/{one.name}")
            client.create_flow_run_from_deployment(there.id, name=f"{name}-made-up")
    return [name for _, name in missed]


def wait_for_server() -> None:
    """Return once Prefect's server answers; it is waited for as long as it takes."""
    address = f"{os.environ['PREFECT_API_URL']}/health"
    while not answers(address):
        time.sleep(0.25)


def _say_alive(path: Path) -> None:
    stop = threading.Event()
    while True:
        path.touch()
        stop.wait(ALIVE_EVERY_S)


def main(folder: str) -> None:
    """Serve the schedules until ended; what was missed is made up first."""
    end_with_parent()
    book = Path(folder)
    made = deployments(book)
    wait_for_server()
    for one in made:
        one.apply()
    make_up(book, made)
    if alive := os.environ.get("WEIGHBOOK_ALIVE"):
        threading.Thread(target=_say_alive, args=(Path(alive),), daemon=True).start()
    serve(*made, limit=1, print_starting_message=False, pause_on_shutdown=False)


if __name__ == "__main__":
    main(*sys.argv[1:])
