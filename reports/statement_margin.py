"""What a member's statement says of the trees beside what is expected, and of what coffee left."""

from __future__ import annotations

from dataclasses import dataclass

import duckdb

from reports.facts import Row
from reports.group_yield import HELD
from reports.query import by_member, rows
from reports.statement_parts import Voice
from reports.words import mark
from reports.yield_figures import number

NOT_SHOWN = {
    "one-entry": mark("Only one entry is recorded, so no margin is shown: it would mislead."),
    "cost-doubtful": mark(
        "A recorded cost is many times what others pay for the same work. No margin is shown until "
        "it is corrected or confirmed: ask the office."
    ),
}


@dataclass(frozen=True, slots=True)
class Own:
    """The rows of one chunk of members, gathered by member, and the villages' middle costs."""

    blocks: dict[str, list[Row]]
    past: dict[str, list[Row]]
    margin: dict[str, list[Row]]


def own_rows(con: duckdb.DuckDBPyConnection, members: list[str]) -> Own:
    """The rows that the sentences of these members rest on."""
    return Own(
        blocks=by_member(con, "statement_blocks", members),
        past=by_member(con, "statement_past", members),
        margin=by_member(con, "statement_margin", members),
    )


def village_costs(con: duckdb.DuckDBPyConnection, least: int) -> dict[str, Row]:
    """The middle cost of a kilogram by village, of villages large enough to be shown."""
    return {row["village"]: row for row in rows(con, "village_cost", least=least)}


def beside_expected(v: Voice, shown: list[Row], trees: list[Row], own: Own, no: str) -> list[Row]:
    """The yields with what is expected of such blocks and what the trees bore before."""
    blocks = {row["species"]: row for row in own.blocks.get(no, [])}
    past = {row["species"]: row for row in own.past.get(no, [])}
    species = [row["species"] for row in trees if row["gbe_per_tree_kg"]]
    return [
        one | {"say": " ".join([one["say"], *_beside(v, blocks.get(name), past.get(name))])}
        for one, name in zip(shown, species, strict=True)
    ]


def _beside(v: Voice, block: Row | None, past: Row | None) -> list[str]:
    said: list[str] = []
    f = v.figures
    if block and block["low_kg"] is not None:
        text = v.say("An ordinary block of this age, wood and density bears {low} to {high} kg.")
        said.append(text.format(low=f.gbe(block["low_kg"]), high=f.gbe(block["high_kg"])))
    if past:
        text = v.say("Your trees bore {last} kg last season; {usual} kg on average of {n} seasons.")
        said.append(
            text.format(
                last=f.gbe(past["last_kg"]),
                usual=f.gbe(past["usual_kg"]),
                n=f.count(past["seasons"]),
            )
        )
    if block and block["shared"]:
        text = v.say("The sheets name no block: it is one figure for all {n}.")
        said.append(text.format(n=f.count(block["blocks"])))
    return said


def no_yield(v: Voice, own: Own, no: str, otherwise: str) -> str:
    """Why no yield is shown, where a reason is known."""
    held = next((row["held"] for row in own.blocks.get(no, []) if row["held"] in HELD), None)
    if held is None:
        return otherwise
    return v.say("No yield is shown: {why}.").format(why=v.say(HELD[held]))


def with_margin(v: Voice, record: Row, own: Own, no: str, village: Row | None) -> Row:
    """The farm record's part with cost, break-even and return, or why a margin is held back."""
    (margin,) = own.margin.get(no) or ({},)
    f = v.figures
    if margin.get("held") in NOT_SHOWN:
        return {"rows": [], "say": f"{record['say']} {v.say(NOT_SHOWN[margin['held']])}"}
    said = [record["say"]]
    if not record["rows"] and village is not None:
        text = v.say(
            "In your village, {n} members who kept one found that a kilogram of green coffee cost "
            "half of them {cost} {currency} or less."
        )
        said.append(
            text.format(
                n=f.count(village["members"]),
                cost=number(v, village["cost_per_kg"], 2),
                currency=v.facts.currency,
            )
        )
    if margin.get("margin_minor") is not None:
        said += _margin(v, margin)
    if margin.get("waiting_rows"):
        text = v.say("{n} entries wait or went back and are not in it.")
        said.append(text.format(n=f.count(margin["waiting_rows"])))
    return record | {"say": " ".join(said)}


def _margin(v: Voice, margin: Row) -> list[str]:
    f = v.figures
    said: list[str] = []
    if margin["visit_rows"]:
        text = v.say("{amount} more was recalled on visits, over {n} weeks without an entry.")
        said.append(
            text.format(
                amount=f.cash(margin["recalled_minor"] or 0), n=f.count(margin["weeks_recalled"])
            )
        )
    if margin["cost_per_kg"] is not None:
        text = v.say(
            "A kilogram of green coffee cost {cost} and fetched {price} {currency}, a year's part "
            "of tools in the cost; {even} kg would have met the costs of the season."
        )
        said.append(
            text.format(
                cost=number(v, margin["cost_per_kg"], 2),
                price=number(v, margin["price_per_kg"], 2),
                currency=v.facts.currency,
                even=number(v, margin["break_even_kg"], 0),
            )
        )
    if margin["per_family_day_minor"] is not None:
        text = v.say("A day of family work earned {amount}.")
        said.append(text.format(amount=f.cash(margin["per_family_day_minor"])))
    said.append(v.say("What was not written down is not in these figures."))
    return said


def asked_of(own: Own, no: str) -> Row:
    """What advice asks of trees and margin."""
    (margin,) = own.margin.get(no) or ({},)
    cost, price = margin.get("cost_per_kg"), margin.get("price_per_kg")
    return {
        "overdue": any(row["overdue"] for row in own.blocks.get(no, [])),
        "below_cost": cost is not None and price is not None and price < cost,
    }
