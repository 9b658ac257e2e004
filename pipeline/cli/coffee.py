"""Commands on the coffee itself: balance sheets by station, lots and whose coffee is in them."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import click

from pipeline.cli.main import book_argument, json_option

LINES = (
    ("opening_kg", "lay there at the start"),
    ("brought_on_kg", "+ opening stock brought on to the book"),
    ("bought_kg", "+ taken in at the scale"),
    ("returned_kg", "- given back to members"),
    ("moved_kg", "± moved from or to other stations"),
    ("processed_kg", "± came from or became another form"),
    ("water_kg", "- dried off"),
    ("parts_kg", "- pulp, skin, hulls"),
    ("sorted_kg", "- floaters and rejects"),
    ("handling_kg", "- lost in handling"),
    ("sold_kg", "- sold"),
    ("loss_kg", "- lost, not explained"),
    ("gain_kg", "+ gained, not explained"),
    ("uncarded_kg", "+ sold, and made without a lot's card"),
    ("closing_kg", "= lies there at the end"),
)
FORMS = ("fresh_cherry", "dry_cherry", "parchment", "green")


def _kg(value: Any) -> str:
    return "" if value is None else f"{value:,.1f}"


@click.command()
@book_argument
@click.option("--season", help="Season's code. Default: the latest with sheets.")
@click.option("--station", default="", help="Only this station, by its code.")
@click.option("--week", default="", help="Only this week, such as 2026-W20. Default: the season.")
@json_option
def coffee(book: Path, season: str | None, station: str, week: str, as_json: bool) -> None:
    """Print the coffee balance: what lay at each station, came in, went and lies there now.

    Kilograms as weighed, form by form; every column adds up to the gram.

    \b
    Example: weighbook coffee ridge-book --station KES --week 2026-W20
    """
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.stock import balance_sheets

    sheets = balance_sheets(open_book(book), season=season, station=station, week=week)
    if as_json:
        show.as_json(sheets)
        return
    if not sheets:
        click.echo("No coffee is on the books.")
    for place, species in dict.fromkeys((row["station"], row["species"]) for row in sheets):
        mine = {r["form"]: r for r in sheets if (r["station"], r["species"]) == (place, species)}
        forms = [form for form in FORMS if form in mine]
        click.echo(f"\n{place or 'no station'}, {species}, {week or 'the season'}: kg as weighed")
        show.table(
            ["", *(form.replace("_", " ") for form in forms)],
            [
                (said, *(_kg(mine[form][name]) for form in forms))
                for name, said in LINES
                if name in ("opening_kg", "closing_kg") or any(mine[f][name] for f in forms)
            ],
            right="." + "r" * len(forms),
        )


@click.command()
@book_argument
@click.argument("number", required=False)
@click.option("--season", help="Season's code. Default: the latest with sheets.")
@json_option
def lots(book: Path, number: str | None, season: str | None, as_json: bool) -> None:
    """List the lots; with a lot's NUMBER, its steps and whose coffee is in it.

    \b
    Example: weighbook lots ridge-book K-0504
    """
    from pipeline import stock
    from pipeline.book.book import open_book
    from pipeline.cli import show

    kept = open_book(book)
    if number:
        one = stock.lot(kept, number, season=season)
        show.as_json(one) if as_json else _show_lot(one)
        return
    found = stock.lots(kept, season=season)
    if as_json:
        show.as_json(found)
        return
    if not found:
        click.echo("There are no lots: no card has come in, and no weighing names one.")
        return
    heads = ("Lot", "Form now", "From", "In", "Dried off", "Hulls, pulp", "Lost", "?Lost",
             "?Gained", "Passed on", "Sold", "There", "Hours", "Days", "Moisture")  # fmt: skip
    show.table(heads, (_lot_line(row) for row in found), right="...rrrrrrrrrrr.")
    click.echo(
        "Kilograms. ?Lost, ?Gained: not explained. Hours to pulping, days of drying, moisture in %."
    )


def _lot_line(row: dict[str, Any]) -> tuple[str, ...]:
    return (
        row["lot_no"],
        (row["form"] or "").replace("_", " "),
        f"{row['first_day']:%m-%d}",
        *(
            _kg(row[name])
            for name in ("in_kg", "water_kg", "parts_kg", "handling_kg", "loss_kg", "gain_kg",
                         "passed_on_kg", "sold_kg", "there_kg", "hours_to_pulping")
        ),
        "" if row["days_dried"] is None else str(row["days_dried"]),
        row["moisture_path"] or "",
    )  # fmt: skip


def _show_lot(one: dict[str, Any]) -> None:
    from pipeline.cli import show

    lot = one["lot"]
    origin = f", made from {lot['from_lots']}" if lot["from_lots"] else ""
    click.echo(f"Lot {lot['lot_no']}: {lot['species']}, station {lot['stations']}{origin}")
    click.echo(
        f"In {_kg(lot['in_kg'])} kg, passed on {_kg(lot['passed_on_kg'])}, "
        f"sold {_kg(lot['sold_kg'])}, there {_kg(lot['there_kg'])}\n"
    )
    heads = ("Step", "From", "To", "Form", "In", "Out", "Out %", "Expected", "Water",
             "Hulls, pulp", "Sorted", "Lost", "?Lost", "?Gained", "Row")  # fmt: skip
    show.table(
        heads,
        (
            (
                step["steps"],
                f"{step['begun_on']:%m-%d}",
                f"{step['day']:%m-%d}",
                (step["form_after"] or "").replace("_", " "),
                _kg(step["in_kg"]),
                _kg(step["out_kg"]),
                _kg(step["outturn_pct"]),
                f"{_kg(step['least_kg'])}-{_kg(step['most_kg'])}",
                *(_kg(step[f"{name}_kg"]) for name in
                  ("water", "parts", "sorted", "handling", "loss", "gain")),
                str(step["row_no"]),
            )
            for step in one["steps"]
        ),
        right="....rrrrrrrrrrr",
    )  # fmt: skip
    for sheet in dict.fromkeys(step["sheet"] for step in one["steps"]):
        click.echo(f"Card: {sheet}")
    if lot["into_lots"]:
        click.echo(f"\nIt went into lot {lot['into_lots']}: see there whose coffee it is.")
    if not one["members"]:
        return
    whole = sum(member["taken_in_kg"] for member in one["members"])
    click.echo(f"\nWhose coffee it is, as taken in at the scale ({_kg(whole)} kg):")
    show.table(
        ("Member", "kg", "Share"),
        (
            (m["member_no"], _kg(m["taken_in_kg"]), f"{100 * m['taken_in_kg'] / whole:.1f} %")
            for m in one["members"]
        ),
        right=".rr",
    )


@click.command()
@book_argument
@click.option("--season", help="Season's code. Default: the latest with sheets.")
@click.option("--station", default="", help="Only this station, by its code.")
@json_option
def weights(book: Path, season: str | None, station: str, as_json: bool) -> None:
    """Print what was taken in on one basis: net, at standard moisture, as green bean equivalent.

    \b
    Example: weighbook weights ridge-book --station KES
    """
    from pipeline.basis import weights as on_each_basis
    from pipeline.book.book import open_book
    from pipeline.cli import show

    found = on_each_basis(open_book(book), season=season, station=station)
    if as_json:
        show.as_json(found)
        return
    show.table(
        ("Station", "Coffee", "Lines", "Net kg", "At standard moisture", "Not read", "Green, kg"),
        (
            (
                row["station"],
                f"{row['species']} {row['form'].replace('_', ' ')}",
                f"{row['lines']:,}",
                _kg(row["net_kg"]),
                _at_standard(row),
                _kg(row["unread_kg"]) if row["unread_kg"] else "",
                _kg(row["gbe_kg"]),
            )
            for row in found["weights"]
        ),
        right="..rrrrr",
    )
    click.echo("\nGreen bean equivalent, kilograms for one of green:")
    for row in found["green"]:
        name = f"{row['species']} {row['form'].replace('_', ' ')}"
        click.echo(f"  {name}: {row['per_green'].normalize():f} ({row['basis']})")
    click.echo(
        "\nMoisture, wet basis; brought to standard by the dry matter, which stays the same:"
    )
    for row in found["meters"]:
        click.echo(
            f"  {row['station']}, meter {row['meter']}: {row['method']}, within "
            f"{row['meter_tolerance'].normalize():f} % of the reading and at least "
            f"{row['meter_tolerance_least'].normalize():f} points"
        )
    if not found["meters"]:
        click.echo("  no meter is declared in book.toml, so the method is not known")


def _at_standard(row: dict[str, Any]) -> str:
    if row["standard_kg"] is None:
        return ""
    return f"{_kg(row['standard_kg'])} at {row['standard_moisture'].normalize():f} %"


@click.command()
@book_argument
@click.argument("station")
@click.argument("day", metavar="DAY", type=click.DateTime(["%Y-%m-%d"]))
@json_option
def day(book: Path, station: str, day: Any, as_json: bool) -> None:
    """Close a DAY at a STATION: receipts written = coffee taken in = cash paid out.

    What does not agree is named. Ends with 4 where anything differs.

    \b
    Example: weighbook day ridge-book KES 2026-05-18
    """
    from pipeline.book.book import kept_settings, open_book
    from pipeline.cli import show
    from pipeline.day import cash, close_day

    kept = open_book(book)
    found = close_day(kept, station, day.date())
    if as_json:
        show.as_json(found)
    else:
        settings = kept_settings(kept.journal())
        _show_day(found, partial(cash, settings=settings))
    if found.differs:
        raise click.exceptions.Exit(4)


def _show_day(found: Any, cash: Callable[[int], str]) -> None:
    from pipeline.cli import show

    click.echo(f"{found.station}, {found.day:%A %Y-%m-%d}\n")
    show.table(
        ("Receipts", "First", "Last", "Written"),
        (
            (f"book {r['receipt_book']}", str(r["first_no"]), str(r["last_no"]), str(r["receipts"]))
            for r in found.receipts
        ),
        right=".rrr",
    )
    click.echo()
    show.table(
        ("Coffee", "Lines", "Bags", "Net kg", "Sorted out before", "Given back", "Second grade",
         "Value"),
        (
            (
                f"{r['species']} {r['form'].replace('_', ' ')}, grade {r['grade']}",
                str(r["lines"]),
                str(r["bags"]),
                *(_kg(r[name]) for name in
                  ("net_kg", "sorted_before_kg", "returned_kg", "second_grade_kg")),
                cash(r["value_minor"]),
            )
            for r in found.coffee
        ),
        right=".rrrrrrr",
    )  # fmt: skip
    due = sum(row["due_minor"] for row in found.money)
    paid = sum(row["paid_minor"] for row in found.money)
    click.echo(f"\nCoffee less deductions {cash(due)}, cash paid out {cash(paid)}.")
    for said in found.differs:
        click.echo(f"  - {said}")
    if not found.differs:
        click.echo("Receipts, coffee and cash agree: the day is closed.")
