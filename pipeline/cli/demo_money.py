"""The money of the demo: a second payment posted by two, and a payment list for what is owed."""

from datetime import date
from pathlib import Path

import click

from pipeline.book.book import Book, kept_settings
from pipeline.money import money_text

TREASURER, CHAIR = "Lio Tessan", "Ana Brel"
DAY = date(2026, 10, 5)


def post_demo_second(book: Book, samples: Path) -> None:
    """Post the second payment of the sample's assembly and say what it came to."""
    from pipeline.second import post_second

    plan = (samples / "second_payment.toml").read_text("utf-8")
    shown, _ = post_second(book, "2026", plan, by=TREASURER, second=CHAIR, day=DAY)
    for pool in shown.pools:
        click.echo(
            f"\nSecond payment, resolution {shown.resolution_no}, pool {pool.code}: "
            f"{_amount(book, pool.shared_minor)} to {len(shown.shares)} members ({pool.how}), "
            f"{_amount(book, pool.reserve_minor)} to reserve."
        )


def make_demo_list(book: Book) -> Path:
    """Make a payment list of all that is owed and say what it comes to."""
    from pipeline.paying import make_list

    made, folder = make_list(book, "2026", by=TREASURER, second=CHAIR, day=DAY)
    click.echo(
        f"Payment list {made.list_no}: {len(made.payees)} payments, "
        f"{_amount(book, made.sum_minor)}; {len(made.left_out)} members are not paid now."
    )
    return folder


def _amount(book: Book, minor: int) -> str:
    settings = kept_settings(book.journal())
    return f"{money_text(minor, settings.decimals)} {settings.currency}"
