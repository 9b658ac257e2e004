"""The group report's part on income: margins by group, where it came from and went, and why."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

from pipeline.yields.income import Came, Compared
from pipeline.yields.small import code_of
from pipeline.yields.spread import IncomeSpread
from pipeline.yields.whole import Whole
from reports.facts import Row
from reports.group_yield import GROUPS, name_in
from reports.labels import COFFEE
from reports.sections import coded, part, section, table
from reports.statement_parts import Voice
from reports.words import mark
from reports.yield_figures import number, percent

HEADINGS = {
    "inputs": mark("inputs"),
    "hired labour": mark("hired labour"),
    "inputs and labour": mark("inputs and hired labour in one figure"),
    "transport": mark("transport"),
    "processing": mark("processing and drying"),
    "tools": mark("tools, the whole price"),
    "other": mark("other costs"),
    "premium": mark("premiums less discounts"),
    "second": mark("second payment"),
    "deducted": mark("deductions"),
}
MARGIN_HELD = {
    "nothing-recorded": mark("nothing is recorded"),
    "no-cost": mark("no cost is recorded"),
    "one-entry": mark("only one entry is recorded"),
    "cost-doubtful": mark("a cost is many times the usual and waits for a decision"),
}


def income_section(v: Voice, whole: Whole) -> Row:
    """Margins of those who recorded their costs; what they do not say is not guessed."""
    rows = whole.incomes
    by_what = dict.fromkeys(one.by for one in rows)
    return section(
        "income",
        v.say("Does the coffee pay") + f", {v.facts.currency}",
        says=_recorded(v, whole.margins_held),
        parts=[
            *(_spread(v, by, [one for one in rows if one.by == by]) for by in by_what),
            _came(v, whole.came, "in", v.say("Where income came from")),
            _came(v, whole.came, "out", v.say("Where it went, as far as it is recorded")),
            _villages(v, whole.villages),
            _seasons(v, whole),
        ],
        note=v.say(
            "Margin is the value of coffee with premiums and second payment, less recorded "
            "variable costs; family work is no cost. Cost a kilogram includes a year's part of "
            "the tools. What was not recorded is not in the costs, so a true margin may be lower."
        ),
    )


def _recorded(v: Voice, rows: Sequence[Row]) -> list[str]:
    f = v.figures
    told: list[str] = []
    known = next((row for row in rows if row["held"] is None), None)
    everyone = sum(row["members"] for row in rows)
    if known is not None and known["members"] >= 5:
        text = v.say(
            "The margin of {n} of {all} members is known; half of them wrote something down in "
            "{weeks} weeks or more. Of their costs {share} were recalled on visits."
        )
        told.append(
            text.format(
                n=f.count(known["members"]),
                all=f.count(everyone),
                weeks=f.days(known["weeks_recorded"]),
                share=percent(v, known["recalled_minor"], known["cost_minor"]),
            )
        )
    text = v.say("No margin is shown for {n} members: {why}.")
    told += [
        text.format(n=f.count(row["members"]), why=v.say(MARGIN_HELD[row["held"]]))
        for row in rows
        if row["held"] is not None and row["members"] >= 5
    ]
    few = sum(row["members"] for row in rows if row["held"] and row["members"] < 5)
    if few >= 5:
        told.append(text.format(n=f.count(few), why=v.say("other reasons")))
    return told


def _spread(v: Voice, by: str, rows: Sequence[IncomeSpread]) -> Row | None:
    # A group alone has nothing beside it; that by village is always shown.
    if not rows or (len(rows) == 1 and by != "village"):
        return None
    f = v.figures
    heads = [v.say(GROUPS[by]), v.say("Members"), v.say("Price a kg"), v.say("Cost a kg"),
             v.say("Lower quarter"), v.say("Median margin"), v.say("Upper quarter"),
             v.say("Below cost"), v.say("A family day")]  # fmt: skip
    shown = [
        [
            coded(name_in(v, by, one.name), v.code("group", "margin", by, code_of(one.name))),
            f.count(one.members),
            number(v, one.price, 2),
            number(v, one.cost, 2),
            *(f.money(minor) for minor in (one.lower, one.middle, one.upper)),
            percent(v, one.below, one.members),
            "–" if one.per_day is None else f.money(one.per_day),
        ]
        for one in rows
    ]
    title = v.say("Margin a member, by {group}").format(group=v.say(GROUPS[by]).lower())
    return part(title=title, table=table(heads, shown))


def _came(v: Voice, rows: Sequence[Came], side: str, title: str) -> Row | None:
    mine = [one for one in rows if one.side == side]
    if not mine:
        return None
    f = v.figures
    shown = [[_coded(v, one), f.count(one.members), f.money(one.amount_minor)] for one in mine]
    total = [v.say("Together"), "", f.money(sum(one.amount_minor for one in mine))]
    return part(
        title=title,
        table=table([v.say("What"), v.say("Members"), v.facts.currency], shown, total=total),
    )


def _coded(v: Voice, one: Came) -> Row | str:
    """What it is, with its figure's code; several together, and what stands above, have none."""
    label = _what(v, one.what)
    if one.what in ("", "deducted"):
        return label
    if one.what in ("premium", "second"):
        return coded(label, v.code("group", one.what))
    return coded(label, v.code("group", one.side, one.what))


def _what(v: Voice, what: str) -> str:
    if not what:
        return v.say("Others together")
    if what in HEADINGS:
        return v.say(HEADINGS[what])
    named = [v.say(COFFEE[name]) if name in COFFEE else name for name in what.split("/")]
    return ", ".join(named)


def _villages(v: Voice, rows: Sequence[Compared]) -> Row | None:
    shown = [(one, one.parts) for one in rows if one.parts is not None]
    if not shown:
        return None
    f = v.figures
    heads = [v.say("Village"), v.say("Members"), v.say("Beside the average"), v.say("Yield"),
             v.say("Price"), v.say("Quality")]  # fmt: skip
    cells: list[list[Any]] = []
    for one, p in shown:
        village = str(one.name) if one.name else None
        code = v.code("group", "village", code_of(village))
        sums = (p.difference, p.yield_ + p.trees, p.price, p.quality)
        named = coded(name_in(v, "village", village), code)
        cells.append([named, f.count(one.members), *(f.money(minor) for minor in sums)])
    return part(
        title=v.say("What makes a village's income differ from the group's average a tree"),
        table=table(heads, cells),
    )


def _seasons(v: Voice, whole: Whole) -> Row | None:
    if len(whole.seasons) < 2:
        return None
    f = v.figures
    heads = [v.say("Season ended"), v.say("Members"), v.say("Green, kg"), v.say("Bearing trees"),
             v.say("kg a tree"), v.say("Value")]  # fmt: skip
    shown = [
        [
            f.day(row["ended_on"]),
            f.count(row["members"]),
            f.gbe(row["all_kg"]),
            f.count(row["trees"]),
            number(v, float(row["kg"]) / row["trees"] if row["trees"] else None, 3),
            f.money(row["all_minor"]) if row["valued"] else "–",
        ]
        for row in whole.seasons
        if row["members"] >= 5
    ]
    made = part(title=v.say("This season and earlier ones"), table=table(heads, shown))
    return made


def since_section(v: Voice, whole: Whole) -> Row:
    """How much of the change since the last season is trees, yield, price and quality."""
    since = whole.since
    parts = since.parts if since else None
    lines = []
    if since and parts and isinstance(since.name, dt.date) and since.members >= 5:
        named = (
            (v.say("more or fewer bearing trees"), parts.trees),
            (v.say("yield a tree"), parts.yield_),
            (v.say("price"), parts.price),
            (v.say("quality: grade and moisture"), parts.quality),
            (v.say("coffee whose trees or best price are not known"), parts.other),
        )
        lines = [[label, v.figures.money(minor)] for label, minor in named]
        together = f"{v.say('Together')} ({v.code('group', 'since')})"
        lines.append([together, v.figures.money(parts.difference)])
        title = v.say("Change in the value of coffee since the season that ended on {day}").format(
            day=v.figures.day(since.name)
        )
        shown = table([v.say("Because of"), v.facts.currency], lines[:-1], total=lines[-1])
        return section("since", title, parts=[part(table=shown)], note=v.say(
            "The parts add up exactly: a logarithmic mean shares the change over its factors."
        ))  # fmt: skip
    return section("since", "")
