"""The member's page on own trees, costs, margin and cash by month."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from starlette.responses import Response
from starlette.routing import Route

from pipeline.desk import say
from pipeline.desk.farming import figures_page, linked, part_of
from pipeline.desk.pages import NO_PAGE, Asked, Refused, route
from pipeline.desk.session import MEMBER
from pipeline.desk.spoken import say as in_words
from pipeline.errors import FigureError
from pipeline.explain.words import Speech
from pipeline.money import money_text
from pipeline.yields.member import Farm, farm

NONE = "–"


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
    words = asked.words
    return figures_page(asked, words["farm"], parts, _margin_says(words, found), words["note"])


def _margin_says(words: dict[str, str], found: Farm) -> list[str]:
    margin = found.margin
    told = [in_words(words, "weeks", margin["weeks_recorded"], margin["weeks_recalled"])]
    if margin["held"]:
        told.append(in_words(words, "no_margin", words[margin["held"]]))
    return told


def _farm(asked: Asked, found: Farm, season: str) -> list[Any]:
    settings, margin, who = asked.sight.settings, found.margin, found.member_no
    words, speech = asked.words, Speech(language=asked.language, settings=settings)

    def why(text: str, *name: str) -> Any:
        return linked(text, season, who, *name)

    def number(value: Any) -> str:
        return speech.amount(f"{value}")

    def money(minor: int | None) -> str:
        if minor is None:
            return ""
        return f"{speech.amount(money_text(minor, settings.decimals))} {settings.currency}"

    def kg(weight: Decimal | None) -> str:
        return "" if weight is None else f"{number(say.plain(weight))} kg"

    blocks = [
        (
            row["plot_no"] or NONE,
            speech.word("species", row["species"]),
            speech.word("wood", row["wood"]),
            number(say.plain(row["trees_bearing"])) or NONE,
            kg(row["gbe_kg"]),
            NONE
            if row["per_tree_kg"] is None
            else why(number(row["per_tree_kg"]), "yield", row["species"]),
            NONE
            if row["expected_low_kg"] is None or row["held"]
            else why(
                in_words(
                    words, "to", number(row["expected_low_kg"]), number(row["expected_high_kg"])
                ),
                "expected",
                row["species"],
            ),
            words[row["held"]] if row["held"] else "",
        )
        for row in found.blocks
    ]
    past = [
        (
            speech.day(say.day(row["ended_on"])),
            speech.word("species", row["species"]),
            kg(row["green_kg"]),
            NONE
            if row["per_tree_kg"] is None
            else why(number(row["per_tree_kg"]), "before", row["species"]),
        )
        for row in found.past
    ]
    costs = [
        (
            speech.word("heading", row["heading"]),
            words[row["source"]],
            money(row["cost_minor"]) or NONE,
            number(say.plain(row["family_days"])) or NONE,
        )
        for row in found.costs
    ]
    lines = [
        (margin["value_minor"], "earned"),
        (margin["variable_minor"], "cost"),
        (margin["margin_minor"], "margin"),
        (margin["fixed_minor"], "tools"),
        (margin["after_fixed_minor"], "left"),
        (margin["per_family_day_minor"], "family_day"),
    ]
    shown = [(words[name], why(money(minor), name)) for minor, name in lines if minor is not None]
    shown += [
        (words[name], why(number(margin[name]), name))
        for name in ("cost_per_kg", "price_per_kg", "break_even_price", "break_even_kg")
        if margin[name] is not None
    ]
    cash = [
        (
            f"{row['month']:%Y-%m}",
            why(money(row["paid_minor"]), "cash", f"{row['month']:%Y-%m}")
            if row["paid_minor"] or row["spent_minor"] is not None
            else money(0),
            money(row["spent_minor"]) or words["not_recorded"],
        )
        for row in found.cash
    ]

    def part(title: str, heads: str, rows: Sequence[Any], text: int = 1) -> Any:
        return part_of(words[title], [words.get(head, "") for head in heads.split()], rows, text)

    return [
        part("blocks", "block coffee wood bearing green kg_a_tree expected -", blocks, 3),
        part("earlier", "season_to coffee green kg_a_tree", past, 2),
        part("costs", "for_what known_from amount family_days", costs, 2),
        part("left_title", "- amount", [] if margin["held"] else shown),
        part("cash", "month paid spent", cash),
    ]


ROUTES: list[Route] = [route("/my/farm", my_farm_page, (MEMBER,))]
