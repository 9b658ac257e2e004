"""The command that lays members' own records beside the scale."""

import re
from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pipeline.cli.main import book_argument, json_option

if TYPE_CHECKING:
    from pipeline.matches import Alone, Match

MOST_SHOWN = 40


def _week(context: click.Context, option: click.Parameter, value: str | None) -> str:
    if value and not re.fullmatch(r"\d{4}-W\d{2}", value):
        raise click.BadParameter("write the week as 2026-W28")
    return value or ""


@click.command()
@book_argument
@click.option("--station", default="", help="Only what one station weighed, by its code.")
@click.option("--week", callback=_week, help="Only one week, as 2026-W28.")
@click.option("--all", "every", is_flag=True, help=f"Every line, not the first {MOST_SHOWN}.")
@json_option
def matches(book: Path, station: str, week: str, every: bool, as_json: bool) -> None:
    """Lay members' own delivery records beside the scale: why each pair, and how far apart.

    The furthest apart come first; then what has no partner, with what is nearest to it. The
    station's weight is what is paid; a record is evidence.

    \b
    Example: weighbook matches ridge-book --station KES --week 2026-W28
    """
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.matches import WHY, book_matches

    found = book_matches(open_book(book), station=station, week=week)
    if as_json:
        show.as_json(found)
        return
    if not found.pairs and not found.alone:
        click.echo("No member's record is here to lay beside the scale.")
        return
    most = None if every else MOST_SHOWN
    own = sum(pair.independent for pair in found.pairs)
    click.echo(
        f"{len(found.pairs):,} records matched with the scale: {own:,} the member's own, "
        f"{len(found.pairs) - own:,} copied from the receipt or written by who weighed."
    )
    for why, count in Counter(pair.why for pair in found.pairs).most_common():
        click.echo(f"    {count:>9,}  {WHY[why]}")
    show.table(
        ("Member", "Weighed", "Receipt", "Record kg", "Scale kg", "Apart kg", "%", "Days", "Why"),
        (_pair(pair) for pair in found.pairs[:most]),
        right="   rrrrr ",
    )
    _rest(found.pairs, most)
    _show_alone(found.alone, most)


def _show_alone(alone: "Sequence[Alone]", most: int | None) -> None:
    from pipeline.cli import show
    from pipeline.matches import BECAUSE

    sides = Counter(one.side for one in alone)
    click.echo(
        f"\nWithout a partner: {sides['record']:,} records, and {sides['weighing']:,} weighings of "
        "members who keep records."
    )
    if not alone:
        return
    show.table(
        ("Row", "Member", "Day", "Receipt", "Kg", "Why", "Nearest"),
        (
            (
                f"{one.sheet}, row {one.row_no}",
                one.member_no or "–",
                str(one.day or "–"),
                _receipt(one.station, one.receipt_book, one.receipt_no),
                _kg(one.kg),
                BECAUSE[one.because] + ("; no weighing of its receipt" * one.receipt_unknown),
                "; ".join(_near(near) for near in one.nearest) or "–",
            )
            for one in alone[:most]
        ),
        right="    r  ",
    )
    _rest(alone, most)


def _rest(rows: Sequence[object], most: int | None) -> None:
    if most is not None and len(rows) > most:
        click.echo(f"... and {len(rows) - most:,} more; see all with --all, or --json.")


def _pair(pair: "Match") -> tuple[str, ...]:
    from pipeline.matches import WHY

    return (
        pair.member_no or "–",
        str(pair.day or "–"),
        _receipt(pair.station, pair.receipt_book, pair.receipt_no),
        _kg(pair.record_kg),
        _kg(pair.net_kg),
        f"{pair.kg_apart.normalize():+f}" if pair.kg_apart else "0",
        f"{pair.pct_apart:+f}" if pair.pct_apart else "0",
        f"{pair.days_apart:+d}" if pair.days_apart else "0",
        WHY[pair.why] + ("; interchangeable" if pair.standing == "interchangeable" else ""),
    )


def _receipt(station: str | None, book: str | None, number: int | None) -> str:
    return " ".join(str(part) for part in (station, book, number) if part is not None)


def _kg(kg: Decimal) -> str:
    return f"{kg.normalize():f}"


def _near(near: dict[str, Any]) -> str:
    taken = ", has a partner" if near["has_partner"] else ""
    receipt = _receipt(None, near["receipt_book"], near["receipt_no"])
    kg = Decimal(near["kg"])
    return f"{near['day']} {receipt} {_kg(kg)} kg (member {near['member_no']}{taken})"
