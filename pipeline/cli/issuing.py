"""The commands that issue documents, and the demo that runs the whole path."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pipeline.cli.main import book_argument, by_option, json_option

if TYPE_CHECKING:
    from pipeline.issue import Issued


@click.command()
@book_argument
@click.option("--season", required=True, help="The season's code, as in book.toml.")
@click.option("--member", "members", multiple=True, help="Only this member's statement.")
@click.option("--village", "villages", multiple=True, help="Only this village's statements.")
@click.option("--changed", is_flag=True, help="Print files only of statements that changed.")
@by_option
@json_option
def issue(
    book: Path,
    season: str,
    members: tuple[str, ...],
    villages: tuple[str, ...],
    changed: bool,
    by: str,
    as_json: bool,
) -> None:
    """Check the season, then make every member's statement and the group report.

    Statements come as PDF, phone page and words to read aloud, each village's in one file to
    print, and all as text messages. Only what changed is drawn again; a run that was interrupted
    goes on where it stopped.

    \b
    Example: weighbook issue ridge-book --season 2026
             weighbook issue ridge-book --season 2026 --village "Lower Tarrin" --changed
    """
    import sys

    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.issue import issue as issue_documents

    # The bar says how much time is left; it stands beside the output, not in it.
    bar: Any = click.progressbar(length=1, label="Statements", file=sys.stderr)

    def told(done: int, of: int) -> None:
        bar.length = max(of, 1)
        bar.update(done - bar.pos)

    with bar:
        done = issue_documents(
            open_book(book),
            season,
            by=by,
            members=list(members) or None,
            villages=list(villages) or None,
            changed=changed,
            progress=told,
        )
    if as_json:
        show.as_json(done)
        return
    show_gate(done)
    show_issued(done)


def show_gate(done: "Issued") -> None:
    """Print what the checks before issue found."""
    failing = [check for check in done.gate if not check.ok]
    click.echo(f"Checks before issue: {len(done.gate) - len(failing)} of {len(done.gate)} hold.")
    for check in failing:
        click.echo(
            f"    {check.name}, {check.looked_at}: {check.observed} ({check.allowed})"
            + ("" if check.stops else "; shown, and stops nothing")
        )
    for member, reason in done.withheld.items():
        click.echo(f"    The statement of member {member} waits. {reason}")


def show_issued(done: "Issued") -> None:
    """Print where the documents are."""
    if done.changed:
        click.echo(f"{done.statements} statements, {done.rendered} drawn anew: {done.folder}")
    else:
        click.echo(f"The last issue says the same and stands: {done.folder}")


@click.command()
@click.argument("what")
@click.option("--book", type=click.Path(path_type=Path, file_okay=False), help="The book.")
@click.option(
    "--key",
    type=click.Path(path_type=Path, dir_okay=False, exists=True),
    help="The cooperative's public key, where the book is not at hand.",
)
@json_option
def genuine(what: str, book: Path | None, key: Path | None, as_json: bool) -> None:
    """Tell whether a statement is genuine.

    WHAT is the page or PDF of a statement, a picture of the square code on it, or the code's text.
    No network is needed, and without the book only its public key. Ends with 16 where it is not.

    \b
    Example: weighbook genuine 10070.pdf --book ridge-book
             weighbook genuine photo.jpg --key public.pem
    """
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.genuine import genuine as check
    from pipeline.genuine import key_of

    opened = open_book(book) if book else None
    found = check(what, key_of(opened, key), book=opened)
    if as_json:
        show.as_json(found)
        return
    said = found.signed
    click.echo(f"Genuine: statement {said.number} of {said.day}, {said.name}.")
    click.echo(f"  coffee delivered  {said.kg} kg as green bean equivalent")
    click.echo(f"  its value         {said.value} {said.currency}")
    click.echo(f"  owed to member    {said.balance} {said.currency}")
    if found.as_issued:
        click.echo("The file is byte for byte as it was issued.")
    else:
        click.echo("Compare these with the paper: if it says something else, it was changed.")
    if found.later:
        click.echo(f"A later version has been issued: {found.later}.")


@click.command("public-key")
@book_argument
def public_key(book: Path) -> None:
    """Print the key by which anybody can tell that this book's statements are genuine.

    \b
    Example: weighbook public-key ridge-book > public.pem
    """
    from pipeline.book.book import open_book, writing
    from pipeline.book.keys import book_keys

    opened = open_book(book)
    with writing(opened):
        click.echo(book_keys(opened).public_pem, nl=False)


@click.command()
@click.option(
    "--book",
    type=click.Path(path_type=Path),
    default=Path("demo-book"),
    show_default=True,
    help="The folder for the demo's book; an earlier demo in it is made anew.",
)
def demo(book: Path) -> None:
    """Run the whole path on the sample sheets: a season week by week, then a bad week.

    \b
    Example: weighbook demo
    """
    from pipeline.cli.demo import run_demo

    run_demo(book)
