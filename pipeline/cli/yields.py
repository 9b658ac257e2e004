"""The command on trees and income: yields and margins of groups and of one member."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pipeline.cli.main import book_argument, json_option

if TYPE_CHECKING:
    from pipeline.settings import Settings
    from pipeline.yields.member import Farm


def season_option(command: Any) -> Any:
    """Give a command the option --season."""
    return click.option("--season", help="Season's code. Default: the latest with sheets.")(command)


@click.command()
@book_argument
@click.option("--member", default="", help="One member: blocks, costs, margin, cash by month.")
@click.option("--value-family-day", help="Value family work at this much a day; else it is days.")
@season_option
@json_option
def yields(
    book: Path, member: str, value_family_day: str | None, season: str | None, as_json: bool
) -> None:
    """Print what trees bore and what coffee left, by groups of five members or more, or of one.

    What was not recorded is shown as not recorded, never as nought.

    \b
    Example: weighbook yields ridge-book --member 10070
    """
    from pipeline.book.book import kept_settings, open_book
    from pipeline.cli import show
    from pipeline.season.tables import connect
    from pipeline.stock import season_of
    from pipeline.upkeep import whole_file
    from pipeline.yields.member import farm
    from pipeline.yields.people import people
    from pipeline.yields.spread import income_spreads, yield_spreads

    opened = open_book(book)
    settings = kept_settings(opened.journal())
    day_value = None if value_family_day is None else _minor(value_family_day, settings.decimals)
    with connect(str(whole_file(opened, season_of(opened, season))), macros=True) as con:
        if member:
            one = farm(con, member, day_value_minor=day_value)
            show.as_json(one) if as_json else _print_farm(one, settings)
            return
        everyone = people(con)
        grown, earned = yield_spreads(everyone), income_spreads(everyone)
    if as_json:
        show.as_json({"yields": grown, "incomes": earned})
        return
    from pipeline.yields.said import GROUPS, group

    show.table(
        ("By", "Name", "Coffee", "Members", "Lower", "Median", "Upper", "kg/ha"),
        [
            (
                GROUPS[one.by],
                group(one.name),
                one.species,
                f"{one.members:,}",
                *(f"{kg:.3f}" for kg in (one.lower, one.middle, one.upper)),
                "–" if one.middle_ha is None else f"{one.middle_ha:,.0f}",
            )
            for one in grown
        ],
        right="   rrrrr",
    )
    click.echo("Green coffee a bearing tree, kg: quartiles between members.\n")
    money = settings.decimals
    show.table(
        ("By", "Name", "Members", "Price/kg", "Cost/kg", "Median margin", "Below cost", "A day"),
        [
            (
                GROUPS[one.by],
                group(one.name),
                f"{one.members:,}",
                f"{one.price:.2f}",
                f"{one.cost:.2f}",
                as_money(one.middle, money),
                f"{one.below}",
                as_money(one.per_day, money),
            )
            for one in earned
        ],
        right="  rrrrrr",
    )
    click.echo(f"Margins of members who recorded costs, {settings.currency}; no family work in it.")


def _minor(text: str, decimals: int) -> int:
    from decimal import Decimal, InvalidOperation

    try:
        amount = Decimal(text).scaleb(decimals)
    except InvalidOperation:
        raise click.BadParameter(f"{text!r} is no amount; write it as 3.50") from None
    if amount != int(amount) or amount < 0:
        raise click.BadParameter(f"{text} has more decimals than the currency, or is below nought")
    return int(amount)


def as_money(minor: int | None, decimals: int) -> str:
    """Print minor units as money, or a dash where they are not known."""
    from pipeline.money import money_text

    return "–" if minor is None else money_text(minor, decimals)


def _print_farm(one: "Farm", settings: "Settings") -> None:
    from pipeline.cli import show
    from pipeline.yields.said import HELD, MARGIN_HELD

    decimals = settings.decimals

    def kg(value: Any) -> str:
        return "–" if value is None else f"{value}"

    show.table(
        ("Block", "Coffee", "Age", "Wood", "Bearing", "Green kg", "kg a tree", "expected", ""),
        [
            (
                row["plot_no"] or "–",
                row["species"],
                kg(row["age"]),
                row["wood"],
                kg(row["trees_bearing"]),
                kg(row["gbe_kg"]) + (" shared" if row["shared"] else ""),
                kg(row["per_tree_kg"]),
                f"{kg(row['expected_low_kg'])} to {kg(row['expected_high_kg'])}",
                HELD.get(row["held"], ""),
            )
            for row in one.blocks
        ],
        right="  r rrr  ",
    )
    if any(row["shared"] for row in one.blocks):
        click.echo("The sheets name no block: coffee is shared by bearing trees.")
    for row in one.past:
        click.echo(
            f"Season to {row['ended_on']}, {row['species']}: {row['green_kg']} kg green, "
            f"{kg(row['per_tree_kg'])} kg a tree."
        )
    margin = one.margin
    click.echo(
        f"\nRecorded in {margin['weeks_recorded']} weeks, recalled for {margin['weeks_recalled']} "
        f"more; {margin['waiting_rows']} entries wait or went back."
    )
    if one.costs:
        show.table(
            ("Cost", "from", "Entries", settings.currency, "Family days", "Hired days", ""),
            [
                (
                    row["heading"],
                    row["source"],
                    f"{row['entries']}",
                    as_money(row["cost_minor"], decimals),
                    kg(row["family_days"]),
                    kg(row["hired_days"]),
                    f"{row['doubtful']} doubtful" if row["doubtful"] else "",
                )
                for row in one.costs
            ],
            right="  rrrr ",
        )
    if margin["held"]:
        click.echo(f"No margin is shown: {MARGIN_HELD[margin['held']]}.")
    else:
        lines = [
            ("Value of coffee with premiums", as_money(margin["value_minor"], decimals)),
            ("Variable costs", as_money(margin["variable_minor"], decimals)),
            ("Gross margin", as_money(margin["margin_minor"], decimals)),
            ("A year's part of the tools", as_money(margin["fixed_minor"], decimals)),
            ("Left", as_money(margin["after_fixed_minor"], decimals)),
            ("Cost of a kilogram green, tools in it", kg(margin["cost_per_kg"])),
            ("Price that just meets the variable costs", kg(margin["break_even_price"])),
            ("Price fetched", kg(margin["price_per_kg"])),
            ("Kilograms green that just meet them", kg(margin["break_even_kg"])),
            ("Earned by a day of family work", as_money(margin["per_family_day_minor"], decimals)),
        ]
        if one.after_family_minor is not None:
            lines.append(
                ("Left after family work as valued", as_money(one.after_family_minor, decimals))
            )
        show.table(("", settings.currency), lines, right=" r")
    show.table(
        ("Month", "Paid to the member", "Recorded as spent", "Left"),
        [
            (
                f"{row['month']:%Y-%m}",
                as_money(row["paid_minor"], decimals),
                "not recorded"
                if row["spent_minor"] is None
                else as_money(row["spent_minor"], decimals),
                as_money(row["left_minor"], decimals),
            )
            for row in one.cash
        ],
        right=" rrr",
    )
