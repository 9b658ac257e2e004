"""The command that walks through a faulty season at random, and what it prints."""

import tempfile
from pathlib import Path

import click

from pipeline.cli.main import json_option


@click.command()
@click.option("--seeds", type=click.IntRange(1, 1000), default=1, show_default=True)
@click.option("--first-seed", type=click.IntRange(1), default=1, show_default=True)
@click.option(
    "--members", type=click.IntRange(60), default=120, show_default=True, help="Members each."
)
@click.option("--steps", type=click.IntRange(1), default=60, show_default=True, help="Steps each.")
@json_option
def walk(seeds: int, first_seed: int, members: int, steps: int, as_json: bool) -> None:
    """Decide flags of faulty seasons at random, take decisions back, send sheets again.

    Every step must leave a book that adds up; after each ten the whole book is worked out anew
    beside itself and compared. Ends with 5 where anything breaks.

    \b
    Example: weighbook trial walk --seeds 2 --steps 30
    """
    from pipeline.cli import show
    from pipeline.errors import DamageError
    from pipeline.trial.walk import Walked
    from pipeline.trial.walk import walk as walked

    found: list[Walked] = []
    for seed in range(first_seed, first_seed + seeds):
        with tempfile.TemporaryDirectory(prefix="weighbook-walk-") as folder:
            found.append(walked(Path(folder) / "season", seed, members, steps))
    broken = [fault for one in found for fault in one.broken]
    if as_json:
        show.as_json(found)
    else:
        for one in found:
            did = ", ".join(f"{what} {times}" for what, times in sorted(one.did.items()))
            click.echo(
                f"season {one.seed}: {one.steps} steps ({did}; {one.refused} refused), proved "
                f"{one.proved} times"
            )
        for fault in broken:
            click.echo(f"    {fault}")
        click.echo("A promise is broken." if broken else "Every promise holds.")
    if broken:
        raise click.exceptions.Exit(DamageError.exit_code)
