"""The commands that issue documents, and the demo that runs the whole path."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pipeline.cli.main import book_argument, by_option, json_option

if TYPE_CHECKING:
    from pipeline.issue import Issued


@click.command()
@book_argument
@click.option("--season", required=True, help="The season's code, as in book.toml.")
@click.option("--member", "members", multiple=True, help="Only this member's statement.")
@by_option
@json_option
def issue(book: Path, season: str, members: tuple[str, ...], by: str, as_json: bool) -> None:
    """Check the season, then make every member's statement and the group report.

    \b
    Example: weighbook issue ridge-book --season 2026
    """
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.issue import issue as issue_documents

    done = issue_documents(open_book(book), season, by=by, members=list(members) or None)
    if as_json:
        show.as_json(done)
        return
    show_gate(done)
    show_issued(done)


def show_gate(done: "Issued") -> None:
    """Print what the checks before issue found."""
    failing = [check for check in done.gate if not check.ok]
    click.echo(f"Checks before issue: {len(done.gate) - len(failing)} of {len(done.gate)} hold.")
    for check in failing:
        click.echo(
            f"    {check.name}, {check.looked_at}: {check.observed} ({check.allowed})"
            + ("" if check.stops else "; shown, and stops nothing")
        )
    for member, reason in done.withheld.items():
        click.echo(f"    The statement of member {member} waits. {reason}")


def show_issued(done: "Issued") -> None:
    """Print where the documents are."""
    if done.changed:
        click.echo(f"{done.statements} statements, {done.rendered} drawn anew: {done.folder}")
    else:
        click.echo(f"The last issue says the same and stands: {done.folder}")


@click.command()
@click.option(
    "--book",
    type=click.Path(path_type=Path),
    default=Path("demo-book"),
    show_default=True,
    help="The folder for the demo's book; an earlier demo in it is made anew.",
)
def demo(book: Path) -> None:
    """Run the whole path on the sample sheets: a season week by week, then a bad week.

    \b
    Example: weighbook demo
    """
    from pipeline.cli.demo import run_demo

    run_demo(book)
