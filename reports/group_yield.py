"""The group report's part on yield: by village and other groups, by age and wood, what is held."""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.yields.small import code_of
from pipeline.yields.spread import YieldSpread
from pipeline.yields.whole import Whole
from reports.facts import Row
from reports.labels import COFFEE, word
from reports.sections import coded, part, section, table
from reports.statement_parts import Voice
from reports.words import mark
from reports.yield_figures import number, rounded

GROUPS = {
    "station": mark("Station"),
    "certificate": mark("Certificate"),
    "size_class": mark("Land under coffee, ha"),
    "village": mark("Village"),
    "species": mark("Coffee"),
}
AGES = {
    "young": mark("under 3 years"),
    "rising": mark("3 to 6 years"),
    "full": mark("7 to 20 years"),
    "old": mark("over 20 years"),
    "not known": mark("age not known"),
}
WOOD = {
    "not due": mark("not due yet"),
    "renewed": mark("stems renewed"),
    "overdue": mark("renewal overdue"),
    "not recorded": mark("not recorded"),
    "stumped": mark("stumped"),
    "not known": mark("not known"),
}
HELD = {
    "no-plots": mark("no plot of this coffee is in the register"),
    "none-bearing": mark("no bearing trees are counted"),
    "too-young": mark("the trees are younger than the first crop"),
}


def name_in(v: Voice, by: str, name: str | None) -> str:
    """A group's name as printed; what has none, and the small ones together, say so."""
    if name is None:
        return v.say("Others together")
    if by == "station":
        return v.station(name) or v.say("not known")
    if by == "species":
        return v.say(word(COFFEE, name)) if name else v.say("not known")
    if by == "certificate" and not name:
        return v.say("no certificate")
    return name or v.say("not known")


def yield_section(v: Voice, whole: Whole) -> Row:
    """Yields beside each other; the chart and table by village stand in a section of their own."""
    others = [one for one in whole.yields if one.by != "village"]
    grouped = {
        group: [one for one in others if (one.by, one.species) == group]
        for group in dict.fromkeys((one.by, one.species) for one in others)
    }
    # A group alone has nothing beside it; its figures stand by village.
    parts = [_spread(v, *group, rows) for group, rows in grouped.items() if len(rows) > 1]
    return section(
        "yield-groups",
        v.say("Yield by station, certificate, land and age"),
        says=[*_held(v, whole.held)],
        parts=[*parts, _blocks(v, whole.blocks)],
        note=v.say(
            "Kilograms of green coffee a bearing tree; quartiles between members. Sheets name no "
            "block, so a member's coffee is shared over the blocks by their bearing trees. "
            "Expected is what an ordinary block of that age, wood and density bears; the limits "
            "are in the list of rules with their sources."
        ),
    )


def _spread(v: Voice, by: str, species: str, rows: Sequence[YieldSpread]) -> Row:
    heads = [v.say(GROUPS[by]), v.say("Members"), v.say("Lower quarter"), v.say("Median"),
             v.say("Upper quarter"), v.say("Median, kg a hectare")]  # fmt: skip
    shown = [
        [
            coded(
                name_in(v, by, one.name),
                v.code("group", "yield", by, code_of(one.name), species),
            ),
            v.figures.count(one.members),
            *(number(v, figure, 3) for figure in (one.lower, one.middle, one.upper)),
            number(v, one.middle_ha, 0),
        ]
        for one in rows
    ]
    title = v.say("{coffee} by {group}").format(
        coffee=v.say(word(COFFEE, species)), group=v.say(GROUPS[by]).lower()
    )
    return part(title=title, table=table(heads, shown))


def _blocks(v: Voice, rows: Sequence[Row]) -> Row | None:
    if not rows:
        return None
    f = v.figures
    heads = [v.say("Coffee"), v.say("Age"), v.say("Wood"), v.say("Blocks"), v.say("Median"),
             v.say("Below expected"), v.say("As expected"), v.say("Above")]  # fmt: skip
    shown = [
        [
            v.say(word(COFFEE, row["species"])),
            v.say(AGES[row["age_class"]]),
            v.say(WOOD[row["wood"]]),
            f.count(row["blocks"]),
            f.gbe(row["middle"]),
            *(f.count(row[name]) for name in ("below", "inside", "above")),
        ]
        for row in rows
    ]
    return part(title=v.say("Blocks by age and wood"), table=table(heads, shown, text=3))


def _held(v: Voice, rows: Sequence[Row]) -> list[str]:
    text = v.say("No yield is shown for {kg} kg of green coffee of {members} members: {why}.")
    few = v.say("fewer than five")
    return [
        text.format(
            kg=v.figures.gbe(rounded(row["gbe_kg"], 3)),
            members=v.figures.count(row["members"]) if row["members"] >= 5 else few,
            why=v.say(HELD[row["held"]]),
        )
        for row in rows
        if row["held"] in HELD
    ]
