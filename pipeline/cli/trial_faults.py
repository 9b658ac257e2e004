"""Prints what a trial of planted faults gave."""

from collections.abc import Iterator
from typing import Any

import click

from pipeline.cli import show
from pipeline.trial.faults import Kind, Trial


def print_trial(found: Trial) -> None:
    """Print the kinds of fault, what is missed and why, and what was said of honest rows."""
    seeds = f"{len(found.seeds)} seasons" if len(found.seeds) > 1 else f"season {found.seeds[0]}"
    title = f"{seeds}, {found.members:,} members each, {found.rows:,} rows"
    headings = (title, "class", "planted", "with a trace", "found", "share", "by which rules")
    show.table(headings, (_line(kind) for kind in found.kinds), right="  rrrr")
    click.echo()
    classes = (
        (name, f"{share:.1%}", f"{found.findable_shares[name]:.1%}")
        for name, share in found.class_shares.items()
    )
    show.table(("Class", "found", "of those with a trace"), classes, right=" rr")
    if found.missed:
        click.echo()
        rows = ((miss.kind, f"{miss.missed:,}", miss.why) for miss in found.missed)
        show.table(("Missed", "", "why"), rows, right=" r")
    click.echo()
    show.table(("", "with faults", "without"), _shares(found), right=" rr")
    rules = sorted(found.false_rules.keys() | found.honest_rules.keys())
    if rules:
        click.echo()
        false = (
            (rule, f"{found.false_rules.get(rule, 0):,}", f"{found.honest_rules.get(rule, 0):,}")
            for rule in rules
        )
        show.table(("False flags by rule", "with faults", "without"), false, right=" rr")
    if found.tuned_on:
        seeds = ", ".join(str(seed) for seed in found.tuned_on)
        click.echo(f"The rules were tuned on seasons {seeds}: choose another --first-seed.")


def as_figures(found: Trial) -> dict[str, Any]:
    """Return the trial as its JSON shows it: a kind's class is called "class" there."""
    import dataclasses

    figures = dataclasses.asdict(found)
    for kind in figures["kinds"]:
        kind["class"] = kind.pop("fault_class")
    return figures


def _line(kind: Kind) -> tuple[str, ...]:
    share = f"{kind.found / kind.planted:.0%}" if kind.planted else ""
    rules = ", ".join(f"{rule} {count}" for rule, count in kind.rules.items())
    counts = (f"{count:,}" for count in (kind.planted, kind.findable, kind.found))
    return kind.kind, kind.fault_class, *counts, share, rules


def _shares(found: Trial) -> Iterator[tuple[str, str, str]]:
    yield "honest rows held", f"{found.false_hold_share:.3%}", f"{found.honest_hold_share:.3%}"
    yield "honest rows noted", f"{found.false_note_share:.3%}", f"{found.honest_note_share:.3%}"
    questions = (found.questions_a_week, found.honest_questions_a_week)
    yield "questions a week, by cause", f"{questions[0]:.1f}", f"{questions[1]:.1f}"
    first = f"{found.first20_money_share:.1%}"
    yield "a week's money at fault in its first 20 flags", first, ""
