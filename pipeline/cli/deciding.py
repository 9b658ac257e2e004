"""The manager's commands: look at flags, decide them, ask where a figure comes from."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pipeline.cli.main import book_argument, json_option, rule_option
from pipeline.intake.names import LANGUAGES

if TYPE_CHECKING:
    from pipeline.season.flags import Flag


@click.command()
@book_argument
@click.argument("number", required=False)
@click.option("--all", "with_decided", is_flag=True, help="Also those that are decided.")
@rule_option("Only those of one rule, by its code.")
@json_option
def flags(
    book: Path, number: str | None, with_decided: bool, rule: str | None, as_json: bool
) -> None:
    """List what is doubtful: the costliest first, each with its place, its reason and what to do.

    With NUMBER, one flag and its evidence: the row among its neighbours, the limits it was compared
    with and their sources, how others lie, and what the member brought.

    \b
    Examples: weighbook flags ridge-book --rule off-scale-interval
              weighbook flags ridge-book 7F3A-09C1
    """
    if number is not None:
        if with_decided or rule:
            raise click.UsageError("NUMBER names one flag: leave out --all and --rule.")
        from pipeline.cli.evidence import show_evidence

        show_evidence(book, number, as_json=as_json)
        return
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.queue import season_flags

    found = [
        (season, flag)
        for season, flag in season_flags(open_book(book))
        if (with_decided or not flag.decision) and rule in (None, flag.rule)
    ]
    if as_json:
        show.as_json([flag_dict(season, flag) for season, flag in found])
        return
    if not found:
        click.echo("Nothing is doubtful.")
    for _, flag in found:
        show_flag(flag, currency_text(book, flag))
    show.what_waits(open_book(book))


@click.command()
@book_argument
@click.argument("sheet")
@json_option
def changes(book: Path, sheet: str, as_json: bool) -> None:
    """Show what a later version of a sheet changed: rows added, cells before and now, rows gone.

    SHEET is its name or a part of it.

    \b
    Example: weighbook changes ridge-book weighings_ARD_2026-W38
    """
    from pipeline.book.book import open_book
    from pipeline.changes import sheet_changes
    from pipeline.cli import show

    found = sheet_changes(open_book(book), sheet)
    if as_json:
        show.as_json(found)
        return
    for version in found:
        click.echo(f"{version.sheet} (version {version.version}): {version.same} rows the same")
        for cell in version.changed:
            click.echo(
                f'    row {cell.row_now}, "{cell.column}": "{cell.before or ""}" is now '
                f'"{cell.now or ""}" (row {cell.row_before} before)'
            )
        for row in version.added:
            click.echo(f"    row {row}: added")
        for name, row in version.gone:
            click.echo(f"    {name}, row {row}: gone; it counts until somebody decides")


@click.command()
@book_argument
@click.argument("figure")
@click.option("--language", type=click.Choice(LANGUAGES), default="en", help="Default: English.")
@json_option
def why(book: Path, figure: str, language: str, as_json: bool) -> None:
    """Say where a figure comes from: formula, rows, prices and decisions, down to the cells.

    FIGURE is the code printed beside it: season/member/name.

    \b
    Examples: weighbook why ridge-book 2026/10427/balance
              weighbook why ridge-book 2026/10427/value --language fr
              weighbook why ridge-book 2026/group/value
    """
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.explain.in_words import in_words
    from pipeline.explain.why import explain_figure

    explained = explain_figure(open_book(book), figure, language)
    if as_json:
        show.as_json(explained)
    else:
        for line in in_words(explained):
            click.echo(line)


def currency_text(book: Path, flag: "Flag") -> str:
    """Return what is at stake in words, or nothing where nothing is."""
    from pipeline.book.book import kept_settings, open_book
    from pipeline.money import money_text

    settings = kept_settings(open_book(book).journal())
    parts: list[str] = []
    if flag.money_at_stake:
        parts.append(f"{money_text(flag.money_at_stake, settings.decimals)} {settings.currency}")
    if flag.kg_at_stake:
        parts.append(f"{flag.kg_at_stake.normalize():f} kg")
    return ", ".join(parts)


def show_flag(flag: "Flag", stake: str) -> None:
    """Print one flag as three short lines."""
    from pipeline.season.flags import SEVERITY_WORDS

    word = f"decided: {flag.decision}" if flag.decision else SEVERITY_WORDS[flag.severity]
    at_stake = f"  at stake: {stake}" if stake else ""
    click.echo(f"{flag.short}  {word}  [{flag.rule}]{at_stake}")
    click.echo(f"    {flag.place}")
    click.echo(f"    {flag.say} {flag.do}")
    if flag.near:
        click.echo(f"    Near: {', '.join(flag.near)}.")


def flag_dict(season: str, flag: "Flag") -> dict[str, object]:
    """Return a flag as JSON shows it."""
    import dataclasses

    return {"number": flag.short, "season": season, **dataclasses.asdict(flag)}
