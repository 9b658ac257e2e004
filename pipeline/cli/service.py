"""The commands of the service: start all of it, see how it stands, approve what it may issue."""

import dataclasses
import sys
from pathlib import Path

import click

from pipeline.cli.main import book_argument, by_option, json_option


@click.command()
@book_argument
@click.option("--desk-port", type=click.IntRange(1, 65535), help="Default: 8080, or service.toml.")
@click.option("--desk-host", default=None, help="Where the desk listens. Default: 127.0.0.1.")
@click.option("--prefect-port", type=click.IntRange(1, 65535), help="Default: 4200.")
@click.option("--unit", is_flag=True, help="Print a unit file for systemd, and start nothing.")
def up(
    book: Path,
    desk_port: int | None,
    desk_host: str | None,
    prefect_port: int | None,
    unit: bool,
) -> None:
    """Run all of it: the desk, the inbox, Prefect's server and the schedules. Ctrl+C ends it.

    Times, places of backups and who is told stand in service.toml in the book's folder.

    \b
    Example: weighbook up ridge-book
    """
    from pipeline.book.book import open_book
    from pipeline.service.config import service_settings
    from pipeline.service.up import unit as unit_file
    from pipeline.service.up import up as run

    opened = open_book(book)
    if unit:
        click.echo(unit_file(opened, Path(sys.argv[0]).absolute()), nl=False)
        return
    given = {"desk_port": desk_port, "desk_host": desk_host, "prefect_port": prefect_port}
    service = dataclasses.replace(
        service_settings(opened), **{key: value for key, value in given.items() if value}
    )
    run(opened, service, click.echo)


@click.command()
@book_argument
@json_option
def status(book: Path, as_json: bool) -> None:
    """Say what runs, what ran last, what is next and what is wrong.

    Ends with 15 where something is wrong.

    \b
    Example: weighbook status ridge-book
    """
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.errors import ServiceError
    from pipeline.service.status import status as look

    found = look(open_book(book))
    if as_json:
        show.as_json(found)
    else:
        click.echo(f"The service {'runs' if found.running else 'does not run'}.")
        if found.running:
            click.echo(f"Desk: {found.desk}   Prefect: {found.prefect}")
            show.table(
                ("Part", "State", "Ready after", "Memory", "Started again"),
                (
                    (
                        name,
                        part["state"],
                        f"{found.ready_after_s.get(name, 0):.1f} s",
                        f"{found.memory_mib.get(name, 0):.0f} MiB",
                        str(part["restarts"]),
                    )
                    for name, part in found.parts.items()
                ),
                right="  rrr",
            )
            ready = found.ready_after_s.get("all")
            after = f", ready after {ready:.1f} s" if ready else ""
            click.echo(f"In all {found.memory_mib['all']:.0f} MiB{after}.")
        show.table(
            ("Chore", "Last", "It said", "Next"),
            (
                (one["chore"], one["last"] or "never", one["says"], one["next"])
                for one in found.chores
            ),
        )
        for place, one in found.backups.items():
            click.echo(f"Backup: {place}, {one.get('at', 'none yet')}")
        click.echo("Nothing is wrong." if not found.wrong else "What is wrong:")
        for line in found.wrong:
            click.echo(f"    {line}")
    if found.wrong:
        raise click.exceptions.Exit(ServiceError.exit_code)


@click.command()
@book_argument
@click.option("--season", required=True, help="The season's code, as in book.toml.")
@by_option
def approve(book: Path, season: str, by: str) -> None:
    """Approve a season's statements as the book stands: the service issues them next time.

    A sheet or decision that comes later ends the approval.

    \b
    Example: weighbook approve ridge-book --season 2026 --by "Mira Tolm"
    """
    from pipeline.approve import approve as write_approval
    from pipeline.book.book import open_book

    line = write_approval(open_book(book), season, by=by)
    click.echo(
        f"Approved by {line.body['by']} (journal line {line.n}). Statements of season {season} are "
        f"issued with the next closing run, or now: weighbook issue {book} --season {season}"
    )
