"""The desk: serving the pages, and who may sign in to them."""

from functools import partial
from pathlib import Path

import click

from pipeline.cli.main import book_argument, by_option, json_option


@click.command()
@book_argument
@click.option("--port", type=click.IntRange(1, 65535), default=8080, show_default=True)
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    help="Where to listen. Beyond this machine only behind a proxy that speaks TLS.",
)
@click.option(
    "--proxy",
    default="",
    metavar="ADDRESS",
    help="The address of the proxy that speaks TLS: it is believed about where a request came "
    "from, and cookies go over TLS alone.",
)
def desk(book: Path, port: int, host: str, proxy: str) -> None:
    """Serve the pages for clerk, manager, trainer, auditor and member.

    The first visit makes the first account.

    \b
    Example: weighbook desk ridge-book
    """
    from pipeline.book.book import open_book
    from pipeline.desk.serve import serve

    opened = open_book(book)
    click.echo(f"The desk of {book} is at http://{host}:{port} (Ctrl+C ends it).")
    serve(opened, host=host, port=port, proxy=proxy)


@click.group()
def people() -> None:
    """Say who may work with a book, and make, change and lock their accounts.

    \b
    Example: weighbook people add ridge-book "Lio Tessan" --role clerk --station KES
    """


@people.command()
@book_argument
@click.argument("name")
@click.option("--role", "roles", multiple=True, required=True, help="May be given several times.")
@click.option("--station", "stations", multiple=True, help="A clerk's own stations; none for all.")
@click.option("--member", "member_no", default=None, help="The person's own member number.")
@click.option("--relative", "relatives", multiple=True, help="A relative's member number.")
@click.option(
    "--password",
    envvar="WEIGHBOOK_PASSWORD",
    help="Asked for where it is not given; better not typed on the command line.",
)
@by_option
def add(
    book: Path,
    name: str,
    roles: tuple[str, ...],
    stations: tuple[str, ...],
    member_no: str | None,
    relatives: tuple[str, ...],
    password: str | None,
    by: str,
) -> None:
    """Declare a person in book.toml and make the account.

    \b
    Example: weighbook people add ridge-book "Mira Tolm" --role manager --member 10427
    """
    from pipeline.book.book import open_book
    from pipeline.desk.accounts import Accounts, refuse_weak
    from pipeline.desk.log import Log
    from pipeline.errors import AccountError
    from pipeline.people import declare_person

    opened = open_book(book)
    accounts = Accounts(opened)
    if name.strip().casefold() in accounts.names():
        raise AccountError(f"{name} has an account. Change it with: weighbook people change")
    declare = partial(
        declare_person,
        opened,
        name,
        roles=roles,
        stations=stations or None,
        member_no=member_no,
        relatives=relatives or None,
    )
    # Nobody is asked for a password in vain, nor declared whose password is refused.
    declare(dry=True)
    if password is None:
        text = "Password (ten letters or more)"
        password = str(click.prompt(text, hide_input=True, confirmation_prompt=True))
    refuse_weak(name, password)
    person = declare()
    accounts.set_password(person.name, password)
    Log(opened).note(by, "added an account", f"{person.name}: {', '.join(person.roles)}")
    click.echo(f"{person.name} can sign in as {', '.join(person.roles)}.")


@people.command()
@book_argument
@click.argument("name")
@click.option("--role", "roles", multiple=True, help="The roles from now on.")
@click.option("--station", "stations", multiple=True, help="The stations from now on.")
@click.option("--member", "member_no", default=None, help="The person's own member number.")
@click.option("--relative", "relatives", multiple=True, help="The relatives from now on.")
@click.option("--new-password", is_flag=True, help="Ask for a new password.")
@by_option
def change(
    book: Path,
    name: str,
    roles: tuple[str, ...],
    stations: tuple[str, ...],
    member_no: str | None,
    relatives: tuple[str, ...],
    new_password: bool,
    by: str,
) -> None:
    """Change a person's roles, stations or relatives, or the password; what is not given stays.

    \b
    Example: weighbook people change ridge-book "Lio Tessan" --role clerk --role trainer
    """
    from pipeline.book.book import kept_settings, open_book
    from pipeline.desk.accounts import Accounts
    from pipeline.desk.log import Log
    from pipeline.errors import AccountError
    from pipeline.people import declare_person

    opened = open_book(book)
    if kept_settings(opened.journal()).person(name) is None:
        raise AccountError(f"Nobody called {name} is declared. Add with: weighbook people add")
    person = declare_person(
        opened,
        name,
        roles=roles or None,
        stations=stations or None,
        member_no=member_no,
        relatives=relatives or None,
    )
    if new_password:
        asked = click.prompt("New password", hide_input=True, confirmation_prompt=True)
        Accounts(opened).set_password(person.name, asked)
    Log(opened).note(by, "changed an account", f"{person.name}: {', '.join(person.roles)}")
    click.echo(f"{person.name} is {', '.join(person.roles)}.")


@people.command()
@book_argument
@click.argument("name")
@click.option("--open", "opened_again", is_flag=True, help="Open a locked account again.")
@by_option
def lock(book: Path, name: str, opened_again: bool, by: str) -> None:
    """Lock an account: nobody signs in with it, and its open pages end.

    \b
    Example: weighbook people lock ridge-book "Lio Tessan"
    """
    from pipeline.book.book import open_book
    from pipeline.desk.accounts import Accounts
    from pipeline.desk.log import Log

    opened = open_book(book)
    Accounts(opened).lock(name, locked=not opened_again)
    did = "opened an account" if opened_again else "locked an account"
    Log(opened).note(by, did, name)
    click.echo(f"{name}: {'open' if opened_again else 'locked'}.")


@people.command()
@book_argument
@click.argument("name")
@click.option("--may", type=click.Choice(["send", "read"]), help="Send sheets, or read totals.")
@click.option("--end", is_flag=True, help="Take the token away.")
@by_option
def token(book: Path, name: str, may: str | None, end: bool, by: str) -> None:
    """Make a program's token and print it once, or take it away.

    \b
    Example: weighbook people token ridge-book "KES scale" --may send
    """
    from pipeline.book.book import now, open_book
    from pipeline.desk.accounts import Accounts
    from pipeline.desk.log import Log

    opened = open_book(book)
    if end:
        Accounts(opened).end_token(name)
        Log(opened).note(by, "ended a token", name)
        click.echo(f"The token of {name} opens nothing any more.")
        return
    made = Accounts(opened).new_token(name, may or "", at=now())
    Log(opened).note(by, f"made a token that may {may}", name)
    click.echo(made)


@people.command("list")
@book_argument
@json_option
def list_people(book: Path, as_json: bool) -> None:
    """List who is declared, with roles and stations, and whose account is there or locked.

    \b
    Example: weighbook people list ridge-book
    """
    from pipeline.book.book import kept_settings, open_book
    from pipeline.cli import show
    from pipeline.desk.accounts import Accounts

    opened = open_book(book)
    held = Accounts(opened).names()
    declared = {p.name.casefold(): p for p in kept_settings(opened.journal()).people}
    names = {key: one.name for key, one in held.items()}
    names |= {key: one.name for key, one in declared.items()}
    found = [
        {
            "name": names[key],
            "roles": list(declared[key].roles) if key in declared else [],
            "stations": list(declared[key].stations) if key in declared else [],
            "account": "none" if key not in held else "locked" if held[key].locked else "open",
        }
        for key in sorted(names)
    ]
    if as_json:
        show.as_json(found)
        return
    for one in found:
        roles = ", ".join(one["roles"]) or "no role"
        click.echo(f"{one['name']}: {roles}; account {one['account']}")
