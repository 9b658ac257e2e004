"""The commands about money: payment lists, second payment, bank, assembly, closing, the ledger."""

from datetime import date
from pathlib import Path

import click

from pipeline.cli.main import book_argument, by_option, json_option


@click.group()
def money() -> None:
    """Pay members, share a second payment, compare with the bank, close a season.

    \b
    Example: weighbook money pay ridge-book --season 2026 --by "Lio Tessan" --second "Ana Brel"
    """


season_option = click.option("--season", required=True, help="The season's code.")
second_option = click.option(
    "--second", default="", help="The second person, who stands by it; not the one of --by."
)
day_option = click.option(
    "--day", type=click.DateTime(["%Y-%m-%d"]), help="Civil day; today where none is given."
)


def _amount(book: Path, minor: int) -> str:
    from pipeline.book.book import kept_settings, open_book
    from pipeline.money import money_text

    settings = kept_settings(open_book(book).journal())
    return f"{money_text(minor, settings.decimals)} {settings.currency}"


@money.command()
@book_argument
@season_option
@click.option(
    "--plan", required=True, type=click.Path(path_type=Path, exists=True, dir_okay=False),
    help="The resolution as a TOML file: pools, proceeds, costs, rate or sum.",
)  # fmt: skip
@click.option("--post", is_flag=True, help="Post it; without this it is only shown.")
@by_option
@second_option
@day_option
@json_option
def second(
    book: Path, season: str, plan: Path, post: bool, by: str, second: str,
    day: date | None, as_json: bool,
) -> None:  # fmt: skip
    """Show a second payment with every member's working, or post it by two people.

    \b
    Example: weighbook money second ridge-book --season 2026 --plan agm-7.toml
    """
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.second import post_second, preview

    opened, text = open_book(book), plan.read_text("utf-8")
    if post:
        shown, _ = post_second(opened, season, text, by=by, second=second, day=_civil(day))
    else:
        shown = preview(opened, season, text)
    if as_json:
        show.as_json(shown)
        return
    for pool in shown.pools:
        click.echo(
            f"Pool {pool.code}: {_amount(book, pool.available_minor)} left to share, "
            f"{_amount(book, pool.shared_minor)} shared ({pool.how}), "
            f"{_amount(book, pool.reserve_minor)} to reserve."
            + (
                f" Unsold: {pool.unsold_kg} kg, valued at {_amount(book, pool.unsold_minor)}."
                if pool.unsold_minor is not None
                else ""
            )
        )
    show.table(
        ("Pool", "Member", "Name", "Working"),
        [(s.pool, s.member_no, s.name, s.working) for s in shown.shares],
    )
    for row in shown.excluded:
        click.echo(f"No share: {row['member_no']} in pool {row['pool']}, {row['why_not']}.")
    click.echo("Posted." if post else "Shown only; nothing is posted. Post it with --post.")


def _civil(day: date | None) -> date | None:
    # click gives an instant; what is meant is the civil day.
    return date(day.year, day.month, day.day) if day else None


@money.command()
@book_argument
@season_option
@click.option(
    "--method", "methods", multiple=True, type=click.Choice(["cash", "bank", "mobile"]),
    help="Only members who are paid so; all where none is given.",
)  # fmt: skip
@by_option
@second_option
@day_option
@json_option
def pay(
    book: Path, season: str, methods: tuple[str, ...], by: str, second: str,
    day: date | None, as_json: bool,
) -> None:  # fmt: skip
    """Make a payment list: CSV, bank file (pain.001), cash pay sheet, and a sheet to take in after.

    \b
    Example: weighbook money pay ridge-book --season 2026 --by "Lio Tessan" --second "Ana Brel"
    """
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.paying import METHODS, make_list

    made, folder = make_list(
        open_book(book), season, by=by, second=second, day=_civil(day), methods=methods or METHODS
    )
    if as_json:
        show.as_json({"count": len(made.payees), "sum_minor": made.sum_minor, "folder": folder,
                      "list": made})  # fmt: skip
        return
    click.echo(f"{made.list_no}: {len(made.payees)} payments, {_amount(book, made.sum_minor)}.")
    for row in made.left_out:
        click.echo(f"    not paid now: {row['member_no']} {row['name']}, {row['why']}")
    for row in made.accounts_waiting:
        click.echo(
            f"    to the earlier account: {row['member_no']} {row['name']}; nobody else agreed to "
            "the new one yet (weighbook flags --rule account-changed)"
        )
    click.echo(f"{folder}\nOnce paid, take in payments_once_paid.csv without those not paid.")


@money.command()
@book_argument
@click.argument("list_no")
@click.option("--because", required=True, help="Why it will not be paid.")
@by_option
@second_option
def withdraw(book: Path, list_no: str, because: str, by: str, second: str) -> None:
    """Withdraw a payment list that will not be paid, so that its members can be listed again.

    \b
    Example: weighbook money withdraw ridge-book PL-2026-3 --because "bank closed" --second "Ana"
    """
    from pipeline.book.book import open_book
    from pipeline.paying import withdraw_list

    withdraw_list(open_book(book), list_no, by=by, second=second, because=because)
    click.echo(f"{list_no} is withdrawn.")


@money.command()
@book_argument
@season_option
@click.option("--days", type=click.IntRange(0), default=5, show_default=True, help="Days apart.")
@json_option
def bank(book: Path, season: str, days: int, as_json: bool) -> None:
    """Compare payments with the lines of bank, mobile money and cash book.

    \b
    Example: weighbook money bank ridge-book --season 2026
    """
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.reconcile import reconcile

    found = reconcile(open_book(book), season, days)
    if as_json:
        show.as_json(found)
        return
    show.table(
        ("Account", "How they agree", "Number", "Payments", "Lines"),
        [(r["method"], r["why"], str(r["count"]), _amount(book, r["paid_minor"]),
          _amount(book, r["line_minor"])) for r in found.sums],
        right="  rrr",
    )  # fmt: skip


@money.command()
@book_argument
@season_option
@json_option
def unclaimed(book: Path, season: str, as_json: bool) -> None:
    """List money that nobody has fetched, with the heirs that the register names.

    \b
    Example: weighbook money unclaimed ridge-book --season 2026
    """
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.season.generations import must_have
    from pipeline.season.tables import connect, dicts, season_sql

    with connect(str(must_have(open_book(book), season))) as con:
        found = dicts(con, season_sql("unclaimed"))
    if as_json:
        show.as_json(found)
        return
    show.table(
        ("Member", "Name", "Village", "Since", "Kept", "Owed", "Heirs"),
        [(r["member_no"], r["name"], r["village"] or "", str(r["since"] or ""),
          _amount(book, r["kept_minor"]), _amount(book, r["owed_minor"]), r["heirs"] or "")
         for r in found],
        right="    rr ",
    )  # fmt: skip


@money.command()
@book_argument
@season_option
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), required=True,
              help="The PDF to write.")  # fmt: skip
@click.option("--plan", type=click.Path(path_type=Path, exists=True, dir_okay=False),
              help="The second payment that is proposed.")  # fmt: skip
@day_option
@json_option
def meeting(
    book: Path, season: str, out: Path, plan: Path | None, day: date | None, as_json: bool
) -> None:
    """Make the pack for the assembly: who may vote, money in and out, what is proposed, the bank.

    \b
    Example: weighbook money meeting ridge-book --season 2026 --plan agm-7.toml --out pack.pdf
    """
    from pipeline.book.book import now, open_book
    from pipeline.cli import show
    from pipeline.meeting import meeting_pack, write_pack

    opened = open_book(book)
    on = _civil(day) or date.fromisoformat(now()[:10])
    pack = meeting_pack(opened, season, on, plan.read_text("utf-8") if plan else None)
    write_pack(opened, pack, out)
    if as_json:
        show.as_json(pack)
        return
    click.echo(f"{pack.voters} of {len(pack.roll)} members may vote; the pack is {out}.")


@money.command()
@book_argument
@season_option
@by_option
@second_option
@day_option
def close(book: Path, season: str, by: str, second: str, day: date | None) -> None:
    """Close a season: carry every member's balances into the next one.

    \b
    Example: weighbook money close ridge-book --season 2026 --by "Lio Tessan" --second "Ana Brel"
    """
    from pipeline.book.book import open_book
    from pipeline.closing import close_season

    members, taken = close_season(open_book(book), season, by=by, second=second, day=_civil(day))
    click.echo(f"Season {season} is closed: {taken.counted} balances of {members} members.")


@money.command()
@book_argument
@season_option
def ledger(book: Path, season: str) -> None:
    """Print a season's ledger as plain-text double entry (Beancount's syntax).

    \b
    Example: weighbook money ledger ridge-book --season 2026 > ledger.beancount
    """
    from pipeline.book.book import open_book
    from pipeline.ledger_text import ledger_text

    for line in ledger_text(open_book(book), season):
        click.echo(line)
