"""Commands that measure this machine: how fast the program is on it, and how much it holds."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from pipeline.cli.main import json_option

Command = TypeVar("Command", bound=Callable[..., Any])


def season_size(members: int, deliveries: int) -> Callable[[Command], Command]:
    """Return what gives a command the size of the season that it draws, by default this one."""

    def with_size(command: Command) -> Command:
        for option in (
            click.option(
                "--deliveries",
                type=click.IntRange(4000),
                default=deliveries,
                show_default=True,
                help="Receipts; each has one line or more.",
            ),
            click.option(
                "--members",
                type=click.IntRange(400),
                default=members,
                show_default=True,
                help="Members.",
            ),
        ):
            command = option(command)
        return command

    return with_size


@click.group(invoke_without_command=True)
@season_size(20_000, 200_000)
@click.option("--growth/--no-growth", default=True, help="Also take a season of a tenth.")
@click.option(
    "--seasons",
    type=click.IntRange(0, 20),
    default=0,
    show_default=True,
    help="Also take the week after so many closed seasons, each with a twentieth of the members.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    default="weighbook-bench.json",
    show_default=True,
    help="File that gets all figures.",
)
@json_option
@click.pass_context
def bench(
    ctx: click.Context,
    members: int,
    deliveries: int,
    growth: bool,
    seasons: int,
    out: Path,
    as_json: bool,
) -> None:
    """Measure how fast the program is on this machine.

    Without the name of a part: all of it on one drawn season, beside DuckDB's own reading of the
    sheets, and beside the same work with pandas and with great-expectations on pandas.

    \b
    Examples: weighbook bench --members 100000 --deliveries 1000000
              weighbook bench intake --json
    """
    if ctx.invoked_subcommand is None:
        from pipeline.cli.bench_whole import run_whole

        run_whole(members, deliveries, out, growth=growth, seasons=seasons, as_json=as_json)


@bench.command()
@click.option(
    "--rows", type=click.IntRange(1000), default=1_000_000, show_default=True, help="Rows to make."
)
@json_option
def intake(rows: int, as_json: bool) -> None:
    """Measure reading, typing and storing sheets, beside DuckDB's own reading of the same rows.

    \b
    Example: weighbook bench intake --rows 200000
    """
    from pipeline.bench.intake import measure_intake
    from pipeline.cli import show

    found = measure_intake(rows, told=show.part)
    if as_json:
        show.as_json(found.figures())
        return
    lines = [
        (f"{name}, {side}", f"{took.wall_s:.2f}", f"{took.cpu_s:.2f}", ratio)
        for name, pair in (("1 file", found.one_file), (f"{found.files} files", found.many_files))
        for side, took, ratio in (
            ("DuckDB read_csv", pair.floor, ""),
            ("read, typed, stored", pair.ours, f"{pair.ratio:.2f} x ({pair.cpu_ratio:.2f} x cpu)"),
        )
    ]
    careful, xlsx = found.careful, found.xlsx
    lines += [
        (
            f"careful reader, {found.careful_rows:,} rows of 12 columns",
            f"{careful.wall_s:.2f}",
            f"{careful.cpu_s:.2f}",
            f"{found.careful_rows / careful.wall_s:,.0f} rows/s",
        ),
        (f"XLSX, {found.xlsx_rows:,} rows", f"{xlsx.wall_s:.2f}", f"{xlsx.cpu_s:.2f}", ""),
        ("most memory, 1 file", "", "", f"{found.peak_mib:,.0f} MiB"),
    ]
    show.table((f"{found.rows:,} rows, {found.cores} cores", "s", "cpu s", ""), lines, right=" rr ")


@bench.command()
@season_size(100_000, 1_000_000)
@json_option
def growth(members: int, deliveries: int, as_json: bool) -> None:
    """Measure the first take of a season, and a week more, beside a season of a tenth.

    \b
    Example: weighbook bench growth --members 1000000 --deliveries 10000000
    """
    from pipeline.bench.growth import measure_growth
    from pipeline.cli import show

    found = measure_growth(members, deliveries, told=show.part).figures()
    if not as_json:
        # A table has one figure a line.
        del found["parts_s"]
    show.figures(found, in_json=as_json)


@bench.command()
@click.option("--deliveries", type=click.IntRange(1000), default=1_000_000, show_default=True)
@click.option("--members", type=click.IntRange(100), default=100_000, show_default=True)
@json_option
def money(deliveries: int, members: int, as_json: bool) -> None:
    """Measure pricing, deducting, posting and totalling a season, and a week that comes into it.

    \b
    Example: weighbook bench money --json
    """
    from pipeline.bench.money import bench_money
    from pipeline.cli import show

    found = bench_money(deliveries=deliveries, members=members)
    show.figures(found, in_json=as_json)


@bench.command()
@season_size(100_000, 1_000_000)
@json_option
def rules(members: int, deliveries: int, as_json: bool) -> None:
    """Measure all rules over a season, beside DuckDB's own reading of the season's sheets.

    \b
    Example: weighbook bench rules --members 10000 --deliveries 100000
    """
    from pipeline.bench.rules import measure_rules
    from pipeline.cli import show

    found = measure_rules(members, deliveries, told=show.part)
    if as_json:
        show.as_json(found.figures())
        return
    show.table(
        (f"{found.deliveries:,} deliveries, {found.cores} cores", "s", "cpu s", ""),
        [
            (
                f"DuckDB read_csv, {found.rows:,} rows of {found.sheets:,} sheets",
                f"{found.floor.wall_s:.2f}",
                f"{found.floor.cpu_s:.2f}",
                "",
            ),
            (
                f"{found.rules} rules, {found.flags:,} flags",
                f"{found.ours.wall_s:.2f}",
                f"{found.ours.cpu_s:.2f}",
                f"{found.over_floor:.2f} x",
            ),
            ("most memory", "", "", f"{found.peak_mib:,.0f} MiB"),
        ],
        right=" rr ",
    )


@bench.command()
@season_size(100_000, 1_000_000)
@click.option(
    "--flags", type=click.IntRange(0), default=10_000, show_default=True, help="Rows that wait."
)
@click.option(
    "--seconds", type=click.IntRange(5, 300), default=30, show_default=True, help="Of the load."
)
@json_option
def desk(members: int, deliveries: int, flags: int, seconds: int, as_json: bool) -> None:
    """Measure the desk's pages under load, on this machine alone, and an upload of a week's sheets.

    \b
    Example: weighbook bench desk --members 2000 --deliveries 20000 --flags 200
    """
    from pipeline.bench.desk import measure_desk
    from pipeline.cli import show

    found = measure_desk(
        members=members,
        deliveries=deliveries,
        flags=flags,
        seconds=seconds,
        told=show.part,
    )
    show.figures(found, in_json=as_json)


@bench.command()
@click.option("--members", type=click.IntRange(100), default=100_000, show_default=True)
@json_option
def report(members: int, as_json: bool) -> None:
    """Measure all of the group report's figures on yield, income, practice and the next crop.

    \b
    Example: weighbook bench report --members 10000
    """
    from pipeline.bench.report import bench_report
    from pipeline.cli import show

    found = bench_report(members)
    show.figures(found, in_json=as_json)


@bench.command()
@click.option("--members", type=click.IntRange(60), default=2000, show_default=True)
@click.option("--deliveries", type=click.IntRange(1, 200), default=35, show_default=True)
@json_option
def documents(members: int, deliveries: int, as_json: bool) -> None:
    """Measure members' statements: drawn one by one, by one process and two, and once again.

    \b
    Example: weighbook bench documents --json
    """
    from pipeline.bench.documents import measure_documents
    from pipeline.cli import show

    found = measure_documents(members, deliveries, told=show.part)
    show.figures(found, in_json=as_json)
