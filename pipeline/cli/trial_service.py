"""Commands that try the service: killed at random, a week in an hour, a union losing a worker."""

import click

from pipeline.cli.main import json_option


@click.command()
@click.option("--kills", type=click.IntRange(1, 10_000), default=200, show_default=True)
@click.option("--seed", type=int, default=2026, show_default=True, help="Which moments are drawn.")
@json_option
def crash(kills: int, seed: int, as_json: bool) -> None:
    """Kill the program at random moments while it takes, decides, issues and backs up.

    Then everything that was acknowledged must be there, nothing twice, and all as in a book whose
    work was left in peace. Ends with 5 where it is not.

    \b
    Example: weighbook trial crash --kills 20
    """
    from pipeline.cli import show
    from pipeline.errors import DamageError
    from pipeline.trial.crash import measure_crashes

    found = measure_crashes(
        kills, seed, lambda n: click.echo(f"killed {n} times", err=True) if n % 20 == 0 else None
    )
    if as_json:
        show.as_json(found)
    else:
        inside = ", ".join(f"{kind} {n}" for kind, n in found.kills_in.items())
        click.echo(
            f"Killed {found.kills} times ({inside}) over {found.sheets} sheets, {found.decisions} "
            f"decisions, {found.issues} issues and {found.backups} backups, {found.seconds:.0f} s."
        )
        for what, faults in (
            ("lost", found.lost),
            ("doubled", found.doubled),
            ("differing", found.differing),
        ):
            click.echo(f"{what}: {len(faults)}")
            for fault in faults[:20]:
                click.echo(f"    {fault}")
        click.echo("Every promise holds." if found.verify_ok else "A promise is broken.")
    if found.lost or found.doubled or found.differing or not found.verify_ok:
        raise click.exceptions.Exit(DamageError.exit_code)


@click.command()
@click.option("--days", type=click.IntRange(1, 400), default=7, show_default=True)
@click.option(
    "--speed",
    type=click.FloatRange(1, 1000),
    default=100,
    show_default=True,
    help="How many times as fast as the world's its clock runs; a day takes 864 s at 100.",
)
@json_option
def week(days: int, speed: float, as_json: bool) -> None:
    """Run the whole service by a fast clock, and see whether memory or open files grow.

    Sheets are dropped every day, and all chores come when their time has come. Ends with 5 where a
    sheet was not taken, a process was started again or a promise is broken.

    \b
    Example: weighbook trial week --days 2 --speed 200
    """
    from pipeline.cli import show
    from pipeline.errors import DamageError
    from pipeline.trial.week import Day, measure_week

    def told(day: Day) -> None:
        held = ", ".join(
            f"{part} {mib:.0f} MiB {day.files[part]:.0f} files"
            for part, mib in day.memory_mib.items()
        )
        done = ", ".join(f"{name} {n}" for name, n in day.chores.items())
        click.echo(f"day {day.day}: {held}; {day.sheets} sheets; {done}", err=True)

    found = measure_week(days, speed, told)
    if as_json:
        show.as_json(found)
    else:
        show.table(
            ("Growth a day, after the first", "MiB", "files"),
            [
                (part, f"{mib:+.2f}", f"{found.files_a_day[part]:+.2f}")
                for part, mib in found.mib_a_day.items()
            ],
            right=" rr",
        )
        click.echo(
            f"{found.taken} of {found.dropped} sheets taken; {found.memory_mib:.0f} MiB in all; "
            f"started again: {sum(found.restarts.values())}."
        )
        for line in found.wrong:
            click.echo(f"    {line}")
        click.echo("Every promise holds." if found.verify_ok else "A promise is broken.")
    if found.taken != found.dropped or any(found.restarts.values()) or not found.verify_ok:
        raise click.exceptions.Exit(DamageError.exit_code)


@click.command()
@click.option("--books", type=click.IntRange(2, 10_000), default=8, show_default=True)
@click.option(
    "--deliveries",
    type=click.IntRange(100),
    default=400,
    show_default=True,
    help="Of each book; ten a member.",
)
@click.option("--workers", type=click.IntRange(2, 64), default=2, show_default=True)
@json_option
def union(books: int, deliveries: int, workers: int, as_json: bool) -> None:
    """Run a union on a scheduler and workers, kill one in mid-run, and compare every figure.

    Ends with 5 where a figure differs from that of the books worked out one after the other.

    \b
    Example: weighbook trial union --books 8
    """
    from pipeline.cli import show
    from pipeline.cli.union import quiet_prefect
    from pipeline.errors import DamageError

    quiet_prefect()
    from pipeline.trial.union import measure_union

    found = measure_union(
        books, deliveries, workers, told=lambda part: click.echo(f"{part} ...", err=True)
    )
    if as_json:
        show.as_json(found)
    else:
        click.echo(
            f"{found.books} books of {found.deliveries:,} deliveries: {found.one_s:.0f} s on one "
            f"worker, {found.all_s:.0f} s on {found.workers} ({found.gain:.2f} times as fast), "
            f"at most {found.worker_mib:,.0f} MiB a worker."
        )
        click.echo(
            f"With {found.killed} of them killed in mid-run: "
            + ("all rows are the same" if found.rows_equal else "ROWS DIFFER")
            + (", a second run changes nothing." if found.unchanged else ", A SECOND RUN WRITES.")
        )
    if not (found.rows_equal and found.unchanged and found.killed):
        raise click.exceptions.Exit(DamageError.exit_code)
