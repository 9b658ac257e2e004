"""What `weighbook bench` does without a part's name: all of it, as a table and as a JSON file."""

from pathlib import Path

import click

from pipeline.cli import show


def run_whole(
    members: int, deliveries: int, out: Path, *, growth: bool, seasons: int, as_json: bool
) -> None:
    """Measure all work on one drawn season and write the figures to a file."""
    from pipeline.bench.whole import measure_whole

    found = measure_whole(members, deliveries, growth=growth, seasons=seasons, told=show.part)
    figures = found.figures()
    out.write_text(show.json_text(figures) + "\n", "utf-8", newline="\n")
    if as_json:
        show.as_json(figures)
        return
    first = found.first
    show.table(
        (f"{first.rows:,} rows, {first.deliveries:,} weighings, {found.sheets:,} sheets", "s", ""),
        [
            ("first take", f"{first.seconds:.2f}", f"{first.rows / first.seconds:,.0f} rows/s"),
            *(
                (f"    {part}", f"{took:.2f}", f"{took / first.seconds:.0%}")
                for part, took in sorted(first.parts.items(), key=lambda pair: -pair[1])
                if took >= first.seconds / 100
            ),
            ("floor: DuckDB reads them, one sum", f"{found.floor_s:.2f}", ""),
            ("", "", f"{figures['first_take_over_floor']} x the floor"),
            ("one week more", f"{found.week_s:.2f}", ""),
            *(
                [
                    (
                        f"one week more after {seasons} closed seasons",
                        f"{found.after_closed_s:.2f}",
                        "",
                    )
                ]
                if found.after_closed_s
                else []
            ),
            ("one decision, in the desk", f"{found.decision.in_desk_s:.2f}", ""),
            ("one decision, as a command", f"{found.decision.command_s:.2f}", ""),
            ("why, as a command", f"{found.why_s:.2f}", ""),
            ("--help", f"{found.help_s:.2f}", ""),
            ("worked out anew", f"{found.rebuild_s:.2f}", f"{figures['rebuild_over_first']} x"),
            ("most memory", "", f"{first.peak_mib:,.0f} MiB"),
            ("season file", "", f"{figures['bytes_per_delivery']} bytes a weighing"),
            *(
                [("ten times the season", "", f"{figures['growth_10x']} x the time")]
                if found.small
                else []
            ),
        ],
        right=" rr",
    )
    click.echo()
    sides = (
        ("Weighbook", found.ours),
        ("pandas", found.pandas),
        ("great-expectations on pandas", found.expectations),
    )
    show.table(
        ("the same work", "read s", "checks s", "totals s", "in all", "MiB"),
        [
            (
                name,
                f"{side.read_s:.2f}",
                f"{side.checks_s:.2f}",
                f"{side.totals_s:.2f}",
                f"{side.whole_s / found.ours.whole_s:.2f} x",
                f"{side.peak_mib:,.0f}",
            )
            for name, side in sides
        ],
        right=" rrrrr",
    )
    click.echo(f"\nAll figures: {out}")
