"""How a flag's evidence is printed: the row among its neighbours, limits, peers, the past."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from pipeline.explain.evidence import Evidence, Past
    from pipeline.explain.sheets import Line
    from pipeline.season.flags import Flag

# The member's latest weighings; the flag's own stands among them wherever it lies.
LATEST = 8


def show_evidence(book: Path, number: str, *, as_json: bool) -> None:
    """Print one flag and all that is known about it; DecisionError where there is none."""
    from pipeline.book.book import kept_settings, open_book
    from pipeline.cli import show
    from pipeline.cli.deciding import currency_text, flag_dict, show_flag
    from pipeline.doubtful import decided_before, find
    from pipeline.explain.evidence import evidence
    from pipeline.explain.sheets import SheetReader
    from pipeline.season.generations import must_have
    from pipeline.season.tables import connect

    opened = open_book(book)
    journal = opened.journal()
    settings = kept_settings(journal)
    doubt = find(opened, journal, settings, [number], as_written=True)[0]
    with connect(str(must_have(opened, doubt.season))) as con:
        found = evidence(con, settings, doubt.flag, SheetReader(opened))
    if as_json:
        before = decided_before(journal, doubt.flag)
        said = {"evidence": found, "decided_before": before}
        show.as_json(flag_dict(doubt.season, doubt.flag) | said)
        return
    show_flag(doubt.flag, currency_text(book, doubt.flag))
    if before := decided_before(journal, doubt.flag):
        click.echo(f"    {before}")
    if doubt.flag.decision:
        click.echo(f"    Decided by {doubt.flag.decided_by}: {doubt.flag.because}")
    _show(book, doubt.flag, found)


def _show(book: Path, flag: "Flag", found: "Evidence") -> None:
    from pipeline.cli import show
    from pipeline.decide import fitting
    from pipeline.printed import plain

    click.echo("\nThe row among its neighbours, as the sheet has it")
    if lines := found.around:
        # Headings down the side: a sheet may have more columns than a terminal is wide.
        show.table(
            ["", *(f"> row {one.row_no}" if one.here else f"row {one.row_no}" for one in lines)],
            [
                [heading, *(_cell(one, place) for one in lines)]
                for place, heading in enumerate(found.headings)
            ],
        )
    else:
        click.echo("  The sheet cannot be read now.")
    if found.limits:
        click.echo("\nCompared with")
    for limit in found.limits:
        value = "none" if limit.value is None else f"{plain(limit.value)} {limit.unit}".strip()
        click.echo(f"  {limit.name.replace('_', ' ')}: {value}. {limit.source}")
    if found.peers:
        peers = found.peers
        click.echo(f"\nBeside others: {peers.title}, {peers.n:,} counted rows of {peers.among}")
        for word, value in peers.spread:
            click.echo(f"  {word:<20}{value:>16}")
    if found.past:
        _show_past(found.past)
    if found.source:
        click.echo(f"\nThe rule's source: {found.source}")
    if not flag.decision:
        actions = "|".join(fitting(flag))
        click.echo(f"\nDecide: weighbook decide {book} {flag.short} {actions} --because ...")


def _cell(line: "Line", place: int) -> str:
    """Return a cell of a row, the one in question between two marks."""
    cell = line.cells[place]
    return f">{cell}<" if line.here and place == line.marked else cell


def _show_past(past: "Past") -> None:
    from pipeline.printed import kg

    name = f"{past.name} ({past.member_no})" if past.name else past.member_no
    click.echo(f"\nMember {name}: {past.words}")
    latest = past.weighings[-LATEST:]
    shown = [one for one in past.weighings if one.here and one not in latest] + latest
    for one in shown:
        state = "" if one.state == "counted" else f"  {one.state.replace('_', ' ')}"
        here = "  this row" if one.here else ""
        click.echo(f"  {one.day}{kg(one.net_kg):>14}{state}{here}")
