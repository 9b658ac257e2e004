"""What a member's statement says of the trees beside what is expected, and of what coffee left."""

from __future__ import annotations

from dataclasses import dataclass

import duckdb

from reports.facts import Row
from reports.group_yield import HELD
from reports.query import by_member, rows
from reports.statement_parts import Voice, line
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
    cash: dict[str, list[Row]]

    def margin_of(self, no: str) -> Row:
        """A member's margin; nothing is known of who is not in the register."""
        found = self.margin.get(no, [])
        return found[0] if found else {}


def own_rows(con: duckdb.DuckDBPyConnection, members: list[str]) -> Own:
    """The rows that the sentences of these members rest on."""
    return Own(
        blocks=by_member(con, "statement_blocks", members),
        past=by_member(con, "statement_past", members),
        margin=by_member(con, "statement_margin", members),
        cash=by_member(con, "statement_cash", members),
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


def record(v: Voice, no: str, season: Row, own: Own, village: Row | None) -> Row:
    """Margin over recorded costs, or what keeping a record would show; never a zero for nothing."""
    f, margin = v.figures, own.margin_of(no)
    if margin.get("held") in NOT_SHOWN:
        said = [_weeks(v, season), v.say(NOT_SHOWN[margin["held"]])]
    elif margin.get("margin_minor") is None:
        said = [_nothing(v, season)]
        if village is not None:
            said.append(_in_village(v, village))
    else:
        said = [_weeks(v, season), *_margin(v, margin)]
    if margin.get("credit_minor"):
        text = v.say("Inputs on credit for {amount} are among the costs of the season.")
        said.append(text.format(amount=f.cash(margin["credit_minor"])))
    if margin.get("waiting_rows"):
        text = v.say("{n} entries wait or went back and are not in it.")
        said.append(text.format(n=f.count(margin["waiting_rows"])))
    return {"rows": _rows(v, no, margin), "say": " ".join(said)}


def _rows(v: Voice, no: str, margin: Row) -> list[Row]:
    if margin.get("margin_minor") is None:
        return []
    cost, left = (v.figures.money(margin[name]) for name in ("variable_minor", "margin_minor"))
    return [
        line(v.say("Recorded costs"), "", cost, v, no, "cost"),
        line(v.say("Value less recorded costs"), "", left, v, no, "margin"),
    ]


def _nothing(v: Voice, season: Row) -> str:
    if season["record_rows"] == 0:
        return v.say(
            "Not recorded. A farm record would show here what was spent and what was left."
        )
    return v.say("No cost is recorded, so no margin can be shown. Write down what is spent.")


def _weeks(v: Voice, season: Row) -> str:
    f = v.figures
    said = [
        v.say("Recorded in {n} of {weeks} weeks of the season.").format(
            n=f.count(season["record_weeks"]), weeks=f.count(v.facts.weeks)
        )
    ]
    if season["family_days"]:
        text = v.say("Family work: {days} days, not counted as a cost.")
        said.append(text.format(days=f.days(season["family_days"])))
    return " ".join(said)


def _in_village(v: Voice, village: Row) -> str:
    text = v.say(
        "In your village, {n} members who kept one found that a kilogram of green coffee cost "
        "half of them {cost} {currency} or less."
    )
    return text.format(
        n=v.figures.count(village["members"]),
        cost=number(v, village["cost_per_kg"], 2),
        currency=v.facts.currency,
    )


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
    margin = own.margin_of(no)
    cost, price = margin.get("cost_per_kg"), margin.get("price_per_kg")
    return {
        "overdue": any(row["overdue"] for row in own.blocks.get(no, [])),
        "below_cost": cost is not None and price is not None and price < cost,
    }
