"""The command that brings the books of a union up to date and adds them up."""

import os

import click

from pipeline.cli.main import json_option


def quiet_prefect() -> None:
    """Set what Prefect reads when it is loaded, where nobody set it otherwise."""
    for name, value in (
        ("DO_NOT_TRACK", "1"),
        ("PREFECT_SERVER_ANALYTICS_ENABLED", "false"),
        ("PREFECT_SERVER_EPHEMERAL_STARTUP_TIMEOUT_SECONDS", "120"),
        ("PREFECT_LOGGING_LEVEL", "WARNING"),
    ):
        os.environ.setdefault(name, value)


@click.command()
@click.argument("books")
@click.option(
    "--out",
    default="union",
    show_default=True,
    help="Folder or address for summaries and report; shared by all workers.",
)
@click.option("--scheduler", default="", help="A Dask scheduler, tcp://machine:8786.")
@click.option("--workers", type=click.IntRange(1, 64), default=2, show_default=True)
@click.option("--scratch", default="", help="Where workers copy books from storage to.")
@json_option
def union(books: str, out: str, scheduler: str, workers: int, scratch: str, as_json: bool) -> None:
    """Bring all books below a folder or bucket up to date, and make the union's report.

    Without a scheduler, processes of this machine do the work.

    \b
    Example: weighbook union /srv/books --out /srv/union
    """
    quiet_prefect()
    from pipeline.cli import show
    from pipeline.flows.union import run_union

    report = run_union(books, out, scheduler=scheduler, workers=workers, scratch=scratch)
    if as_json:
        show.as_json(report)
        return
    for one in report["seasons"]:
        click.echo(
            f"Season {one['season']}: {one['books']} books, {one['members']:,} members, "
            f"{one['deliveries']:,} deliveries, {one['gbe_kg']:,} kg green, "
            f"{one['arrived']:,} rows."
        )
    for name, trouble in report["not_read"].items():
        click.echo(f"Not read: {name}: {trouble}")
    click.echo(f"The report: {out}/report.json")
