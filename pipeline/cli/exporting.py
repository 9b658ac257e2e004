"""The command that gives a season to an accountant, buyer or auditor."""

from pathlib import Path

import click

from pipeline.cli.main import book_argument, json_option


@click.command()
@book_argument
@click.option("--season", required=True, help="The season's code, as in book.toml.")
@click.option(
    "--to",
    "folder",
    required=True,
    type=click.Path(path_type=Path, file_okay=False),
    help="A new folder for it.",
)
@click.option(
    "--personal",
    is_flag=True,
    help="With names, telephones, accounts, households, places of plots and free text.",
)
@json_option
def export(book: Path, season: str, folder: Path, personal: bool, as_json: bool) -> None:
    """Write a season's tables for an accountant, buyer or auditor.

    A workbook for who looks, and a Data Package (CSV and Parquet, every column described) for who
    reckons. Members are there by their numbers; what is personal only where it is asked for.

    \b
    Example: weighbook export ridge-book --season 2026 --to for-the-auditor
    """
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.export import export as write_out

    made = write_out(open_book(book), season, folder, personal=personal)
    if as_json:
        show.as_json([str(path) for path in made])
        return
    tables = sum(path.suffix == ".csv" for path in made)
    click.echo(f"Wrote {made[0]} and {made[1]}: {tables} tables, each as CSV and Parquet.")
    if personal:
        click.echo("It holds personal data: give it only to who may have it.")
