"""The member's page on own trees, costs, margin and cash by month."""

from typing import Any

from starlette.responses import Response
from starlette.routing import Route

from pipeline.desk import say
from pipeline.desk.farming import figures_page, linked, part_of
from pipeline.desk.pages import NO_PAGE, Asked, Refused, route
from pipeline.desk.session import MEMBER
from pipeline.errors import FigureError
from pipeline.yields.member import Farm, farm
from pipeline.yields.said import HELD, MARGIN_HELD

SOURCES = {"record": "written down", "visit": "told on a visit", "credit": "on an issue note"}


def my_farm_page(asked: Asked) -> Response:
    """The member's own trees, costs, margin and cash by month."""
    one = asked.sight.generation()
    if one is None:
        raise Refused(404, NO_PAGE, "/my")
    try:
        with one.cursor() as con:
            found = farm(con, asked.who.member_no)
    except FigureError:
        raise Refused(404, NO_PAGE, "/my") from None
    parts = _farm(asked, found, one.season)
    return figures_page(asked, "My trees and costs", parts, _margin_says(found), (
        "Each underlined figure leads to the rows that it is made of. "
        "What was not written down is not in these figures. The sheets name no block: coffee of "
        "several blocks is shared by their bearing trees."
    ))  # fmt: skip


def _margin_says(found: Farm) -> list[str]:
    margin = found.margin
    told = [
        f"Written down in {margin['weeks_recorded']} weeks, told on visits for "
        f"{margin['weeks_recalled']} more."
    ]
    if margin["held"]:
        told.append(f"No margin is shown: {MARGIN_HELD[margin['held']]}.")
    return told


def _farm(asked: Asked, found: Farm, season: str) -> list[Any]:
    settings, margin, who = asked.sight.settings, found.margin, found.member_no

    def why(text: str, *name: str) -> Any:
        return linked(text, season, who, *name)

    blocks = [
        (
            row["plot_no"] or "–",
            row["species"],
            row["wood"],
            say.plain(row["trees_bearing"]) or "–",
            say.kg(row["gbe_kg"]),
            "–" if row["per_tree_kg"] is None
            else why(f"{row['per_tree_kg']}", "yield", row["species"]),
            "–" if row["expected_low_kg"] is None or row["held"]
            else why(f"{row['expected_low_kg']} to {row['expected_high_kg']}", "expected",
                     row["species"]),
            HELD.get(row["held"], ""),
        )
        for row in found.blocks
    ]  # fmt: skip
    past = [
        (
            say.day(row["ended_on"]),
            row["species"],
            say.kg(row["green_kg"]),
            "–"
            if row["per_tree_kg"] is None
            else why(f"{row['per_tree_kg']}", "before", row["species"]),
        )
        for row in found.past
    ]
    costs = [
        (
            row["heading"],
            SOURCES[row["source"]],
            say.money(row["cost_minor"], settings) or "–",
            say.plain(row["family_days"]) or "–",
        )
        for row in found.costs
    ]
    lines = [
        ("Value of coffee with premiums", margin["value_minor"], "earned"),
        ("Costs but tools", margin["variable_minor"], "cost"),
        ("Gross margin", margin["margin_minor"], "margin"),
        ("A year's part of the tools", margin["fixed_minor"], "tools"),
        ("Left", margin["after_fixed_minor"], "left"),
        ("Earned by a day of family work", margin["per_family_day_minor"], "family_day"),
    ]
    shown = [
        (what, why(say.money(minor, settings), name))
        for what, minor, name in lines
        if minor is not None
    ]
    shown += [
        (what, why(f"{margin[name]}", name))
        for what, name in (
            ("Cost of a kilogram green, tools in it", "cost_per_kg"),
            ("Fetched by a kilogram green", "price_per_kg"),
            ("Price that just meets the costs but tools", "break_even_price"),
            ("Kilograms green that just meet them", "break_even_kg"),
        )
        if margin[name] is not None
    ]
    cash = [
        (
            f"{row['month']:%Y-%m}",
            why(say.money(row["paid_minor"], settings), "cash", f"{row['month']:%Y-%m}")
            if row["paid_minor"] or row["spent_minor"] is not None
            else say.money(0, settings),
            say.money(row["spent_minor"], settings) or "not recorded",
        )
        for row in found.cash
    ]
    return [
        part_of(
            "Blocks",
            ("Block", "Coffee", "Wood", "Bearing", "Green", "kg a tree", "Expected", ""),
            blocks,
            3,
        ),
        part_of("Earlier seasons", ("Season to", "Coffee", "Green", "kg a tree"), past, 2),
        part_of("Costs", ("For", "Known from", "Amount", "Family days"), costs, 2),
        part_of("What the coffee left", ("", "Amount"), [] if margin["held"] else shown),
        part_of("Cash by month", ("Month", "Paid to you", "Spent"), cash),
    ]  # fmt: skip


ROUTES: list[Route] = [route("/my/farm", my_farm_page, (MEMBER,))]
