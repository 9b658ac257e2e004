"""The group report's part on practice and training, pests and soils: no doses, no diagnosis."""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.yields.intervals import Difference
from pipeline.yields.practice import Beside, Done
from pipeline.yields.training import Proposed, Worth
from pipeline.yields.whole import Whole
from reports.facts import Row
from reports.group_yield import name_in
from reports.sections import part, section, table
from reports.small_groups import disjoint, joined
from reports.statement_parts import Voice
from reports.words import mark
from reports.yield_figures import number, percent

# So many practices stand side by side on a page.
_ACROSS = 4
PRACTICES = {
    "pruning": mark("a third of the wood renewed after year seven"),
    "stems": mark("two or three stems"),
    "mulch": mark("mulch"),
    "manure": mark("manure once a year"),
    "ripe_picking": mark("only ripe cherries picked"),
    "drying": mark("dried to the band"),
    "storage_off_floor": mark("stored off the floor"),
    "soil_test": mark("soil tested"),
    "shade": mark("shade"),
    "erosion_bands": mark("bands against erosion"),
}
TOPICS = {
    "pruning": mark("pruning and stems"),
    "mulching": mark("mulch and bands against erosion"),
    "soil": mark("manure and soil tests"),
    "picking": mark("picking ripe"),
    "drying": mark("drying and measuring moisture"),
    "storage": mark("storage off the floor"),
}
PESTS = {
    "berry_borer": (mark("berry borer"), mark("small holes in the tip of berries")),
    "leaf_rust": (mark("leaf rust"), mark("orange powder under the leaves")),
    "berry_disease": (mark("berry disease"), mark("dark sunken spots on green berries")),
    "stem_borer": (mark("stem borer"), mark("holes and frass at the stem, wilting branches")),
    "leaf_miner": (mark("leaf miner"), mark("brown blotches that peel on the leaves")),
    "antestia": (mark("antestia bug"), mark("shield-shaped bugs on berries and shoots")),
    "mealybug": (mark("mealybug"), mark("white wool and ants on shoots or roots")),
    "wilt": (mark("wilt"), mark("a tree that wilts from one side; do not move its wood")),
    "nematodes": (mark("nematodes"), mark("knots on roots of weak, yellow trees")),
    "other": (mark("other"), mark("what the visit wrote down")),
}


def practice_section(v: Voice, whole: Whole) -> Row:
    """Who does what where, and how those who do fare beside those who do not."""
    return section(
        "practice",
        v.say("Practice"),
        says=[
            v.say(
                "Members who do a thing differ from others in more than that: land, hands, money "
                "and years of practice. A difference below is no proof that doing it brings it."
            )
        ],
        parts=[*_done(v, whole.done), _beside(v, whole.beside)],
        note=v.say(
            "Known from visits first, then from counts of trees, scales and farm records. "
            "Intervals of 95 %: small groups by bootstrap, large ones after Welch."
        ),
    )


def _done(v: Voice, rows: Sequence[Done]) -> list[Row]:
    """A row a village, a column a practice, so many as fit beside each other."""
    there = list(dict.fromkeys(one.practice for one in rows))
    return [
        _done_of(v, [one for one in rows if one.practice in there[n : n + _ACROSS]])
        for n in range(0, len(there), _ACROSS)
    ]


def _done_of(v: Voice, rows: Sequence[Done]) -> Row:
    practices = list(dict.fromkeys(one.practice for one in rows))
    of = v.say("{share} of {n}")
    cells = {
        (one.village, one.practice): of.format(
            share=percent(v, one.do, one.known), n=v.figures.count(one.known)
        )
        for one in rows
    }
    villages = sorted({one.village for one in rows}, key=lambda name: (name is None, name or ""))
    shown = [
        [name_in(v, "village", name), *(cells.get((name, one), "–") for one in practices)]
        for name in villages
    ]
    heads = [v.say("Village"), *(v.say(PRACTICES[one]) for one in practices)]
    return part(title=v.say("Who does it, of the members known"), table=table(heads, shown))


def _beside(v: Voice, rows: Sequence[Beside]) -> Row | None:
    shown: list[list[str]] = []
    for one in rows:
        for what, found, places in (
            (v.say("green, kg a tree"), one.yields, 3),
            (v.say("of the best price, %"), one.quality, 1),
        ):
            if found is not None:
                shown.append([v.say(PRACTICES[one.practice]), what, *_sides(v, found, places)])
    if not shown:
        return None
    heads = [v.say("Practice"), v.say("Measured by"), v.say("Do it"), v.say("Do not"),
             v.say("Difference"), v.say("Interval")]  # fmt: skip
    return part(
        title=v.say("Those who do it beside those who do not"), table=table(heads, shown, text=2)
    )


def _sides(v: Voice, found: Difference, places: int) -> list[str]:
    f = v.figures
    of = v.say("{figure} ({n})")
    return [
        of.format(figure=number(v, found.first, places), n=f.count(found.n_first)),
        of.format(figure=number(v, found.second, places), n=f.count(found.n_second)),
        number(v, found.middle, places),
        v.say("{low} to {high}").format(
            low=number(v, found.low, places), high=number(v, found.high, places)
        ),
    ]


def training_section(v: Voice, whole: Whole) -> Row:
    """Which training to give where; what it may be worth, or that this cannot be told."""
    shown = [
        [
            one.village or v.say("not known"),
            v.say(TOPICS[one.topic]),
            v.figures.count(one.reach),
            _worth(v, one),
        ]
        for one in whole.trainings
    ]
    worth = v.say("May be worth a season, {currency}").format(currency=v.facts.currency)
    heads = [v.say("Village"), v.say("Training"), v.say("Members it would reach"), worth]
    return section(
        "training",
        v.say("Training, by village"),
        says=[
            v.say(
                "Listed are trainings that at least five members of a village have not had and "
                "whose practice they are known not to follow; first what is surely worth most, "
                "then by members."
            ),
            *_judged(v, whole.worths),
        ],
        parts=[part(table=table(heads, shown, text=2))] if shown else [],
    )


def _worth(v: Voice, one: Proposed) -> str:
    if one.low_minor is None or one.high_minor is None:
        return v.say("cannot tell")
    return v.say("{low} to {high}").format(
        low=v.figures.money(one.low_minor), high=v.figures.money(one.high_minor)
    )


def _judged(v: Voice, worths: dict[str, Worth]) -> list[str]:
    told: list[str] = []
    for topic, worth in worths.items():
        if worth.effect is None:
            continue
        text = (
            v.say(
                "{training}: from last season to this, the {n} members trained early this season "
                "changed by {low} to {high} more than the {others} not yet trained ({unit})."
            )
            if worth.can_tell
            else v.say(
                "{training}: whether it changed anything cannot be told from {n} members trained "
                "early this season and {others} not yet trained ({low} to {high}, {unit})."
            )
        )
        quality = worth.outcome == "quality"
        places = 1 if quality else 3
        unit = v.say("points of the best price") if quality else v.say("kg of green a tree")
        told.append(
            text.format(
                training=v.say(TOPICS[topic]).capitalize(),
                n=v.figures.count(worth.effect.n_first),
                others=v.figures.count(worth.effect.n_second),
                low=number(v, worth.effect.low, places),
                high=number(v, worth.effect.high, places),
                unit=unit,
            )
        )
    return told


def pest_section(v: Voice, whole: Whole) -> Row:
    """Pests and soil tests by village and month, what to look for and whom to call."""
    kept = joined(
        whole.pests,
        join=lambda small: {
            "village": None,
            "month": None,
            "pest": "",
            "members": max(one["members"] for one in small),
            "looked_at": sum(one["looked_at"] for one in small),
            "affected": sum(one["affected"] for one in small),
        },
        members=lambda cells: max(one["members"] for one in cells),
    )
    if kept and max(one["members"] for one in kept) < 5:
        kept = []
    shown = [
        [
            name_in(v, "village", one["village"]),
            v.figures.day(one["month"]) if one["month"] else "–",
            v.say(PESTS[one["pest"]][0]) if one["pest"] in PESTS else v.say("several"),
            v.figures.count(one["members"]),
            percent(v, one["affected"], one["looked_at"]),
        ]
        for one in kept
    ]
    heads = [v.say("Village"), v.say("Month from"), v.say("Pest or disease"), v.say("Members"),
             v.say("Affected")]  # fmt: skip
    found = dict.fromkeys(one["pest"] for one in kept if one["pest"] in PESTS)
    look = [
        v.say("{pest}: look for {sign}.").format(
            pest=v.say(PESTS[pest][0]).capitalize(), sign=v.say(PESTS[pest][1])
        )
        for pest in found
    ]
    call = v.say(
        "Signs are no diagnosis. Call the extension worker or a licensed adviser before anything "
        "is sprayed; the label and national law say what may be used, by whom and how."
    )
    return section(
        "pests",
        v.say("Pests, diseases and soil tests"),
        says=[call] if shown or whole.soil else [],
        parts=[part(table=table(heads, shown, text=3)) if shown else None, _soil(v, whole.soil)],
        bullets=look,
    )


def _soil(v: Voice, rows: Sequence[Row]) -> Row | None:
    def join(small: list[Row]) -> Row:
        return {"village": None, "month": None, "middle_ph": None, "members": disjoint(small),
                "tests": sum(one["tests"] for one in small)}  # fmt: skip

    kept = joined(rows, join=join, members=disjoint)
    shown = [
        [
            name_in(v, "village", one["village"]),
            v.figures.day(one["month"]) if one["month"] else "–",
            v.figures.count(one["members"]),
            v.figures.count(one["tests"]),
            number(v, one["middle_ph"], 1),
        ]
        for one in kept
        if one["members"] >= 5
    ]
    if not shown:
        return None
    heads = [v.say("Village"), v.say("Month from"), v.say("Members"), v.say("Soil tests"),
             v.say("Median pH")]  # fmt: skip
    return part(title=v.say("Soil tests"), table=table(heads, shown, text=2))
