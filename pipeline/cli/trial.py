"""Commands that try the program on invented seasons whose truth is known."""

import click

from pipeline.cli.main import json_option
from pipeline.cli.trial_service import crash, union, week
from pipeline.cli.trial_walk import walk


@click.group()
def trial() -> None:
    """Try how well the program does what it claims, on invented seasons whose truth is known.

    \b
    Example: weighbook trial faults --seeds 1
    """


@trial.command()
@click.option(
    "--seeds",
    type=click.IntRange(1, 500),
    default=20,
    show_default=True,
    help="Seasons to draw; each takes some 15 seconds at 600 members.",
)
@click.option(
    "--members", type=click.IntRange(120), default=600, show_default=True, help="Members each."
)
@click.option(
    "--first-seed",
    type=click.IntRange(1),
    default=1001,
    show_default=True,
    help="The first season; the others follow it.",
)
@json_option
def faults(seeds: int, members: int, first_seed: int, as_json: bool) -> None:
    """Plant known faults in honest seasons, and see which of them the checks find.

    Every season is sent through the same path as a real book's, with the faults and without.

    \b
    Example: weighbook trial faults --seeds 3
    """
    from pipeline.cli import show
    from pipeline.cli.trial_faults import as_figures, print_trial
    from pipeline.trial.faults import measure_faults

    chosen = range(first_seed, first_seed + seeds)
    found = measure_faults(chosen, members, lambda seed: click.echo(f"season {seed}", err=True))
    if as_json:
        show.as_json(as_figures(found))
        return
    print_trial(found)


@trial.command()
@click.option(
    "--members", type=click.IntRange(200), default=100_000, show_default=True, help="Members."
)
@click.option("--seed", type=int, default=1001, show_default=True, help="Which season is drawn.")
@click.option("--faults", is_flag=True, help="With a fault in one weighing of a hundred.")
@json_option
def questions(members: int, seed: int, faults: bool, as_json: bool) -> None:
    """Count the questions a week, by cause, that the checks put to the manager of a large book.

    A cause is a rule, the sheet's station and week, and the row's recorder. The season is honest.

    \b
    Example: weighbook trial questions --members 4000
    """
    from pipeline.cli import show
    from pipeline.trial.questions import measure_questions

    found = measure_questions(
        members, seed, faults=faults, told=lambda part: click.echo(f"{part} ...", err=True)
    )
    if as_json:
        show.as_json(found)
        return
    title = f"Season {seed}: {found.members:,} members, {found.stations} stations"
    show.table(
        (title, ""),
        (
            ("rows", f"{found.rows:,}"),
            ("weighings with a fault", f"{found.faults:,}"),
            ("flags", f"{found.flags:,}"),
            ("rows held or sent back", f"{found.held_share:.3%}"),
            ("rows noted", f"{found.noted_share:.3%}"),
            ("questions, by cause", f"{found.questions:,}"),
            ("questions a week", f"{found.a_week:,.1f}"),
            ("in the week with most", f"{found.most_in_a_week:,}"),
        ),
        right=" r",
    )
    show.table(
        ("Rule", "", "flags", "questions"),
        ((one.rule, one.severity, f"{one.flags:,}", f"{one.questions:,}") for one in found.rules),
        right="  rr",
    )


@trial.command()
@click.option(
    "--deliveries",
    type=click.IntRange(100),
    default=200_000,
    show_default=True,
    help="Deliveries to draw.",
)
@click.option("--seed", type=int, default=20_260, show_default=True, help="Which season is drawn.")
@json_option
def matching(deliveries: int, seed: int, as_json: bool) -> None:
    """Match members' records with the scale on a season with the slips of real life.

    \b
    Example: weighbook trial matching --deliveries 20000 --seed 7
    """
    from pipeline.cli import show
    from pipeline.matches import WHY
    from pipeline.trial.matching import measure_matching

    found = measure_matching(deliveries, seed)
    if as_json:
        show.as_json(found)
        return
    lines = [
        ("true pairs: weighed and written down", found.true_pairs, ""),
        ("found", found.found, f"{found.found_share:.2%} of true pairs"),
        ("wrong", found.wrong, f"{found.wrong_share:.3%} of settled pairs"),
        ("interchangeable: between rows that are alike", found.interchangeable, ""),
        ("cannot be told apart, left to a person", found.left_to_person, ""),
        ("missed", found.missed, ""),
    ]
    show.table(
        (f"Season {seed}: {found.rows:,} rows, {found.seconds:.2f} s", "", ""),
        ((name, f"{count:,}", share) for name, count, share in lines),
        right=" r ",
    )
    show.table(
        ("Why", "settled", "wrong"),
        (
            (WHY[why], f"{count:,}", f"{found.wrong_by_why.get(why, 0):,}")
            for why, count in found.why.items()
        ),
        right=" rr",
    )
    if found.seed_was_tuned_on:
        click.echo("The matcher was tuned on this very season: choose another --seed.")


@trial.command()
@click.option("--draws", type=click.IntRange(8), default=2000, show_default=True)
@click.option("--seed", type=int, default=20_261, show_default=True)
@json_option
def intervals(draws: int, seed: int, as_json: bool) -> None:
    """Count how often the interval of a difference between two groups holds the true one.

    Yields are drawn from a known law; of intervals of 95 %, 93 to 97 in a hundred should hold it.

    \b
    Example: weighbook trial intervals --draws 400
    """
    from pipeline.cli import show
    from pipeline.trial.intervals import measure_intervals

    found = measure_intervals(draws, seed)
    if as_json:
        show.as_json(found)
        return
    show.table(
        ("Members on either side", "intervals that held it"),
        [
            *((size, f"{share:.1%}") for size, share in found.by_size.items()),
            ("all", f"{found.coverage_95:.1%}"),
        ],
        right=" r",
    )


@trial.command()
@click.option("--seeds", type=click.IntRange(1, 500), default=40, show_default=True)
@click.option("--first-seed", type=click.IntRange(1), default=1001, show_default=True)
@json_option
def crop(seeds: int, first_seed: int, as_json: bool) -> None:
    """Estimate drawn stations' crops and hold them against what they came to.

    Each season has four earlier ones; the error is beside that of taking last year's crop.

    \b
    Example: weighbook trial crop --seeds 10
    """
    from pipeline.cli import show
    from pipeline.trial.crop import measure_crop

    found = measure_crop(range(first_seed, first_seed + seeds))
    if as_json:
        show.as_json(found)
        return
    show.table(
        ("Share of the days over", "nearer than last year's", "in the range of 80 %"),
        [(day, f"{gain:.1%}", f"{held:.1%}") for day, (gain, held) in found.by_day.items()],
        right=" rr",
    )
    if found.some_seeds_were_tuned_on:
        click.echo("The estimate was tuned on some of these seasons: choose another --first-seed.")


for _command in (crash, week, union, walk):
    trial.add_command(_command)
