"""The whole path as a Prefect flow: thin tasks over the plain functions, with retries and a report.

The functions do the work and are tested without Prefect; a task run twice changes nothing, since
the same sheets again change nothing and an issue that says the same stands.
"""

from datetime import date
from pathlib import Path

from prefect import flow, get_run_logger, task
from prefect.artifacts import create_table_artifact

from pipeline.book.book import open_book
from pipeline.corrections import write_corrections
from pipeline.errors import BookError
from pipeline.issue import issue
from pipeline.take import take
from pipeline.taken import Taken


def _may_help(_task: object, _run: object, state: object) -> bool:
    """Try again only what may be otherwise next time: a book that somebody else is writing to."""
    result = getattr(state, "result", None)
    error = result(raise_on_failure=False) if callable(result) else None
    return isinstance(error, BookError | OSError)


@task(retries=3, retry_delay_seconds=[5, 30, 120], retry_condition_fn=_may_help)
def take_sheets(book: Path, sheets: list[Path], day: date | None, by: str) -> list[Taken]:
    """Take sheets into the book."""
    return take(open_book(book), sheets, by=by, day=day)


@task(retries=3, retry_delay_seconds=[5, 30, 120], retry_condition_fn=_may_help)
def correct(book: Path) -> list[Path]:
    """Write the clerk's correction sheets."""
    return write_corrections(open_book(book))


@task(retries=1, retry_delay_seconds=10, retry_condition_fn=_may_help)
def issue_season(book: Path, season: str, by: str) -> dict[str, object]:
    """Check the season and issue its documents."""
    done = issue(open_book(book), season, by=by)
    failing = [check for check in done.gate if not check.ok]
    return {
        "folder": str(done.folder),
        "statements": done.statements,
        "drawn_anew": done.rendered,
        "checks_failing": len(failing),
        "withheld": len(done.withheld),
    }


@flow(name="season", log_prints=False)
def season_flow(
    book: Path,
    sheets: list[Path],
    season: str,
    day: date | None = None,
    by: str = "schedule",
) -> dict[str, object]:
    """Take sheets, write the correction sheets, check and issue; leave a table of what came in."""
    logger = get_run_logger()
    taken = take_sheets(book, sheets, day, by)
    create_table_artifact(
        key="sheets-taken",
        table=[_line(sheet) for sheet in taken],
        description=f"What became of {len(taken)} sheets",
    )
    corrections = correct(book)
    issued = issue_season(book, season, by)
    create_table_artifact(key="issued", table=[issued], description=f"Season {season}")
    waiting = sum(sheet.held + sheet.sent_back for sheet in taken)
    logger.info("%s sheets, %s rows wait, %s to correct", len(taken), waiting, len(corrections))
    return issued


def _line(sheet: Taken) -> dict[str, object]:
    columns = ("arrived", "counted", "held", "sent_back", "replaced", "left_out")
    return {
        "sheet": sheet.sheet,
        "kind": sheet.kind,
        **{column: getattr(sheet, column) for column in columns},
        "message": sheet.message,
    }
