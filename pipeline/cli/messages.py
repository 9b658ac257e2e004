"""The command that words text messages to members between statements."""

from dataclasses import asdict
from datetime import date, datetime
from pathlib import Path

import click

from pipeline.cli.main import book_argument, json_option


@click.command()
@book_argument
@click.option("--day", type=click.DateTime(["%Y-%m-%d"]), help="A message for each delivery of it.")
@click.option("--month", help="A message for each member who delivered in it: 2026-05.")
@json_option
def messages(book: Path, day: datetime | None, month: str | None, as_json: bool) -> None:
    """Word a text message for each delivery of a day, or each member's running total of a month.

    Prints CSV: member, telephone, how many messages the text takes, text. Nothing is sent.

    \b
    Examples: weighbook messages ridge-book --day 2026-05-04 > slips.csv
              weighbook messages ridge-book --month 2026-05
    """
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.telling import messages_of_day, messages_of_month
    from reports.telling import as_csv

    if (day is None) == (month is None):
        raise click.UsageError("Give a --day or a --month.")
    opened = open_book(book)
    if day is not None:
        found = messages_of_day(opened, date(day.year, day.month, day.day))
    else:
        found = messages_of_month(opened, month or "")
    if as_json:
        show.as_json([asdict(one) | {"messages": one.messages} for one in found])
    else:
        click.echo(as_csv(found), nl=False)
