"""How results are printed: tables for people, JSON for programs."""

import dataclasses
import json
import sys
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from pipeline.book.book import Book


def _plain(value: Any) -> Any:
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return dataclasses.asdict(value)
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, Path | date):
        return str(value)
    raise TypeError(f"{type(value).__name__} is not for JSON")


def json_text(value: Any) -> str:
    """Return any result as JSON; decimals as text, so that no digit is lost."""
    return json.dumps(value, default=_plain, ensure_ascii=False, indent=1)


def as_json(value: Any) -> None:
    """Print any result as JSON."""
    click.echo(json_text(value))


def table(headings: Sequence[str], rows: Iterable[Sequence[str]], *, right: str = "") -> None:
    """Print a table; `right` has an "r" for every column that is aligned right."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    shown = Table(box=None, pad_edge=False, header_style="underline")
    for position, heading in enumerate(headings):
        side = right[position : position + 1] == "r"
        shown.add_column(heading, justify="right" if side else "left", overflow="fold")
    for row in rows:
        # Text, not markup: a sheet's own brackets are printed as they are.
        shown.add_row(*(Text(cell) for cell in row))
    width = None if sys.stdout.isatty() else 140
    Console(width=width, highlight=False, soft_wrap=False).print(shown)


def figures(found: Mapping[str, object], *, in_json: bool) -> None:
    """Print named figures, one a line, or as JSON."""
    if in_json:
        as_json(found)
    else:
        table(("", ""), [(name, str(value)) for name, value in found.items()])


def part(name: str) -> None:
    """Say which part of long work begins, beside the result."""
    click.echo(f"... {name}", err=True)


def what_waits(book: "Book") -> None:
    """Say where comparisons are of an earlier line than states and money, in a large season."""
    from pipeline.book.book import kept_settings
    from pipeline.upkeep import waits

    journal = book.journal()
    if waits(book, journal, kept_settings(journal)):
        click.echo(
            "States and money are up to the last decision. Records matched, coffee, yields and "
            "notes on the season follow: the service works them out, or the command that reads "
            "them next.",
            err=True,
        )
