"""The manager's decisions: on one flag or many alike, taken back, or asked of a station."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pipeline.cli.main import book_argument, by_option, json_option, rule_option

if TYPE_CHECKING:
    from pipeline.decide import Decided


@click.command()
@book_argument
@click.argument("flags", nargs=-1)
@click.argument("action", type=click.Choice(["count", "amend", "leave-out"]))
@rule_option("All open flags of a rule, in the place of numbers.")
@click.option("--station", default="", help="With --rule: of this station's sheets alone.")
@click.option(
    "--day", type=click.DateTime(["%Y-%m-%d"]), help="With --rule: of rows of this day alone."
)
@click.option("--because", required=True, help="Why; kept in the journal and shown.")
@click.option("--value", help="The right value, with amend; a unit may stand behind it: 135 lb.")
@click.option("--second", default="", help="Who agrees, where an amount is raised.")
@by_option
@json_option
def decide(
    book: Path,
    flags: tuple[str, ...],
    action: str,
    rule: str | None,
    station: str,
    day: datetime | None,
    because: str,
    value: str | None,
    second: str,
    by: str,
    as_json: bool,
) -> None:
    """Decide flags: count the rows as they are, amend the cell, or leave the rows out.

    Several flags, or all of a rule, a station and a day, are decided alike: all of them, or none
    where one cannot be decided so. An amendment that raises an amount, or changes where money goes,
    takes a second person.

    \b
    Examples: weighbook decide ridge-book 7F3A-09C1 amend --value 11.4 --because "paper says 11.4"
              weighbook decide ridge-book leave-out --rule off-scale-interval --station KES
                  --day 2026-05-04 --because "the scale was off all day"
    """
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.decide import decide_alike

    if bool(flags) == bool(rule):
        raise click.UsageError("Name flags by their numbers, or all of a rule with --rule.")
    if rule:
        from pipeline.alike import alike

        on = day.date() if day else None
        flags = tuple(alike(open_book(book), rule, station=station, day=on))
        if not flags:
            click.echo("No open flag is like that.")
            return
    done = decide_alike(
        open_book(book), flags, action, because=because, by=by, value=value, second=second
    )
    if as_json:
        said = [_as_dict(one) for one in done]
        show.as_json(said if rule or len(flags) > 1 else said[0])
        return
    for one in done:
        if one.changed:
            state = one.state.replace("_", " ")
            click.echo(f"{one.flag.short} decided: {action}. {one.flag.place} is now {state}.")
        else:
            click.echo(f"{one.flag.short} was decided so before; nothing changed.")
    show.what_waits(open_book(book))


@click.command("take-back")
@book_argument
@click.argument("flag")
@click.option("--because", required=True, help="Why; kept in the journal.")
@by_option
def take_back(book: Path, flag: str, because: str, by: str) -> None:
    """Take back the last decision on a flag: it is then as it was before.

    \b
    Example: weighbook take-back ridge-book 7F3A-09C1 --because "that was another receipt"
    """
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.decide import take_back as taken_back

    line = taken_back(open_book(book), flag, because=because, by=by)
    click.echo(
        f"Taken back: {flag} was decided on {line.at[:10]} by {line.body['by']}: "
        f"{line.body['action']} ({line.body['because']})."
    )
    show.what_waits(open_book(book))


@click.command()
@book_argument
@click.argument("flags", nargs=-1, required=True)
@click.option("--question", required=True, help="What the station is asked.")
@click.option(
    "--due", type=click.DateTime(["%Y-%m-%d"]), help="When it is to answer. Default: in a week."
)
@by_option
def ask(book: Path, flags: tuple[str, ...], question: str, due: datetime | None, by: str) -> None:
    """Ask the station about flags; their rows wait until its answer is in and decided.

    \b
    Example: weighbook ask ridge-book 7F3A-09C1 --question "What does receipt 118 say?"
    """
    from pipeline.awaited import ask_station
    from pipeline.book.book import open_book

    on = due.date() if due else None
    for one in ask_station(open_book(book), flags, question, by=by, due=on):
        click.echo(f"{one.short} asked of {one.station or 'the office'}, due {one.due}.")


@click.command()
@book_argument
@json_option
def awaited(book: Path, as_json: bool) -> None:
    """List what stations were asked and have not answered: the longest due first.

    \b
    Example: weighbook awaited ridge-book
    """
    from dataclasses import asdict
    from datetime import date

    from pipeline.awaited import awaited as waiting
    from pipeline.book.book import now, open_book
    from pipeline.cli import show

    today = date.fromisoformat(now()[:10])
    found = waiting(open_book(book))
    if as_json:
        show.as_json([asdict(one) | {"overdue": one.overdue(today)} for one in found])
        return
    if not found:
        click.echo("No answer is awaited.")
    for one in found:
        late = "overdue since" if one.overdue(today) else "due"
        click.echo(f"{one.short}  {one.station or 'the office'}  {late} {one.due}: {one.question}")
        click.echo(f"    {one.place}")


def _as_dict(one: "Decided") -> dict[str, object]:
    return {
        "flag": one.flag.short,
        "action": one.action,
        "state": one.state,
        "changed": one.changed,
    }
