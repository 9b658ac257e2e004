"""Pages on income, practice and the crop to come, for trainer and manager.

A trainer sees no money. Groups of fewer than five members are joined, here as in the report.
"""

import threading
from collections.abc import Sequence
from typing import Any
from weakref import WeakKeyDictionary

from starlette.responses import Response
from starlette.routing import Route

from pipeline.desk import say
from pipeline.desk.generation import Generation
from pipeline.desk.pages import Asked, Refused, route
from pipeline.yields.crop import Crop
from pipeline.yields.said import (
    CAUTION,
    GROUPS,
    MARGIN_HELD,
    PRACTICES,
    TOPICS,
    WARNING,
    group,
)
from pipeline.yields.small import shown_as
from pipeline.yields.whole import Whole, whole

TRAINING = ("trainer", "manager", "auditor")
MONEY = ("manager", "treasurer", "chair", "auditor")
LOOK = ("trainer", *MONEY)
_KEPT: WeakKeyDictionary[Generation, Whole] = WeakKeyDictionary()
_LOCK = threading.Lock()


def _whole(asked: Asked) -> Whole:
    """Return all figures of the season, worked out once a generation."""
    one = asked.sight.generation()
    if one is None:
        raise Refused(404, "Nothing is worked out yet. Send the registers and sheets.", "/")
    with _LOCK:
        if one not in _KEPT:
            with one.cursor() as con:
                _KEPT[one] = whole(con)
        return _KEPT[one]


def part_of(title: str, heads: Sequence[str], rows: Sequence[Sequence[Any]], text: int = 1) -> Any:
    """Return a table of a page: headings, rows, how many columns lead as words.

    A cell is text, or of `linked` where it leads to what a member's figure is made of.
    """
    return {"title": title, "heads": list(heads), "rows": [list(r) for r in rows], "text": text}


def linked(text: str, *code: str) -> dict[str, str]:
    """Return a cell that leads to where a figure comes from."""
    return {"text": text, "code": "/".join(code)}


def figures_page(
    asked: Asked, title: str, parts: Sequence[Any], says: Sequence[str], note: str
) -> Response:
    """Return a page of tables, those without rows left out."""
    shown = [part for part in parts if part["rows"]]
    return asked.page("figures", title=title, parts=shown, says=list(says), note=note)


def practice_page(asked: Asked) -> Response:
    """What is done where, how those who do fare, which training to give, pests. No money."""
    found = _whole(asked)
    done = [
        (PRACTICES[one.practice], group(one.village), f"{one.do} of {one.known}")
        for one in found.done
    ]
    beside = [
        (
            PRACTICES[one.practice],
            f"{one.yields.first:.3f} ({one.yields.n_first})",
            f"{one.yields.second:.3f} ({one.yields.n_second})",
            f"{one.yields.low:+.3f} to {one.yields.high:+.3f}",
        )
        for one in found.beside
        if one.yields is not None
    ]
    trainings = [
        (
            one.village or "not known",
            TOPICS[one.topic],
            f"{one.reach} of {one.known}",
            _effect(found, one.topic),
        )
        for one in found.trainings
    ]
    pests = [
        (
            row["village"] or "not known",
            f"{row['month']:%Y-%m}",
            str(row["pest"]).replace("_", " "),
            say.plain(row["members"]),
            f"{row['affected']} of {row['looked_at']}",
        )
        for row in found.pests
        if row["members"] >= 5
    ]
    parts = [
        part_of("Training, by village", ("Village", "Training", "Would reach", "May change"),
              trainings, 2),
        part_of("What is done where", ("Practice", "Village", "Do it, of those known"), done, 2),
        part_of("Those who do it beside those who do not, kg green a tree",
              ("Practice", "Do it", "Do not", "Difference, 95 %"), beside),
        part_of("Pests and diseases seen", ("Village", "Month", "Pest", "Members", "Affected"),
              pests, 3),
    ]  # fmt: skip
    note = (
        "Signs are no diagnosis: call the extension worker or a licensed adviser before anything "
        "is sprayed. The label and national law say what may be used, by whom and how."
    )
    return figures_page(asked, "Practice", parts, [WARNING], note)


def _effect(found: Whole, topic: str) -> str:
    worth = found.worths[topic]
    if not worth.can_tell or worth.effect is None:
        return "cannot tell"
    unit = "points of quality" if worth.outcome == "quality" else "kg green a tree"
    return f"{worth.effect.low:+.3f} to {worth.effect.high:+.3f} {unit}"


def income_page(asked: Asked) -> Response:
    """Margins by group, where income came from and went, and why villages differ."""
    found, settings = _whole(asked), asked.sight.settings
    spreads = [
        (
            GROUPS[one.by],
            group(one.name),
            say.plain(one.members),
            f"{one.price:.2f}",
            f"{one.cost:.2f}",
            say.money(one.lower, settings),
            say.money(one.middle, settings),
            say.money(one.upper, settings),
            say.plain(one.below) or "0",
        )
        for one in found.incomes
    ]
    came = [
        (
            "in" if one.side == "in" else "out",
            one.what.replace("_", " ").replace("/", ", ") or "others together",
            say.plain(one.members),
            say.money(one.amount_minor, settings),
        )
        for one in found.came
    ]
    villages = [
        (
            group(None if one.name is None else str(one.name)),
            *(
                say.money(minor, settings)
                for minor in (
                    one.parts.difference,
                    one.parts.yield_ + one.parts.trees,
                    one.parts.price,
                    one.parts.quality,
                )
            ),
        )
        for one in found.villages
        if one.parts is not None
    ]
    held = [
        (MARGIN_HELD[row["held"]], say.plain(row["members"]))
        for row in found.margins_held
        if row["held"] and row["members"] >= 5
    ]
    parts = [
        part_of("Margin a member", ("By", "Name", "Members", "Price a kg", "Cost a kg",
              "Lower quarter", "Median", "Upper quarter", "Below cost"), spreads, 2),
        part_of("Where income came from and went", ("", "What", "Members", "Amount"), came, 2),
        part_of("Why a village differs from the average a tree",
              ("Village", "Beside the average", "Yield", "Price", "Quality"), villages),
        part_of("Members without a margin", ("Because", "Members"), held),
    ]  # fmt: skip
    note = (
        "Margins are of members who recorded costs, on record or as recalled on a visit; family "
        "work is no cost. What was not recorded is not in them."
    )
    return figures_page(asked, "Income", parts, [], note)


def next_page(asked: Asked) -> Response:
    """The crop to come by station, and what it needs; cash only for those who see money."""
    found, settings = _whole(asked), asked.sight.settings
    parts: list[Any] = []
    for title, crop in (("This season", found.crop), ("Next season", found.ahead)):
        if crop is not None:
            parts.append(part_of(title, ("Station", "In, kg green", "Estimate", "From", "To"),
                               _crop(asked, crop)))  # fmt: skip
    if found.needs:
        needs = found.needs
        lines = [
            ("Basins of manure, one a bearing tree", say.plain(needs.manure_basins)),
            ("Seedlings for gaps", say.plain(needs.seedlings) or "0"),
            ("Trees to mulch, a foot clear of the stem", say.plain(needs.mulch_trees)),
            ("Bags of 60 kg green", _both(needs.bags)),
            *([("Drying space, m²", _both(needs.drying_m2))] if needs.drying_m2 else []),
            *(
                (f"Pickers a day, {month}", _both((low, high)))
                for month, low, high in needs.pickers
            ),
        ]
        if needs.cash_minor and asked.who.is_any(*MONEY):
            low, high = (say.money(minor, settings) for minor in needs.cash_minor)
            lines.append(("Cash for first payments", f"{low} to {high}"))
        parts.append(part_of("What the next season needs", ("Need", "How much"), lines))
    says = [] if parts else ["No bearing trees are in the register, so no crop can be estimated."]
    return figures_page(asked, "Crop to come", parts, says, CAUTION)


def _crop(asked: Asked, crop: Crop) -> list[tuple[str, ...]]:
    names = {one.code: one.name for one in asked.sight.settings.stations}
    counts = dict(crop.members.group_by("station").len().iter_rows())
    shown = shown_as({one.name: counts.get(one.name, 0) for one in crop.stations})
    totals: dict[str | None, list[float]] = {}
    for one in crop.stations:
        if one.name in shown:
            sums = totals.setdefault(shown[one.name], [0.0] * 4)
            for n, kg in enumerate((one.in_kg, one.kg, one.low, one.high)):
                sums[n] += kg
    order = sorted(totals, key=lambda name: (name is None, name or ""))
    return [
        (names.get(name or "", group(name)), *(f"{kg:,.0f}" for kg in totals[name]))
        for name in order
    ]


def _both(ends: tuple[int, int]) -> str:
    return f"{ends[0]:,} to {ends[1]:,}"


ROUTES: list[Route] = [
    route("/practice", practice_page, TRAINING),
    route("/income", income_page, MONEY),
    route("/next", next_page, LOOK),
]
