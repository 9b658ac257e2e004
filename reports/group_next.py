"""The group report's part on the crop still to come and on the next season, with what it needs."""

from __future__ import annotations

from typing import Any

from pipeline.yields.crop import Crop, Estimate
from pipeline.yields.needs import Needs
from pipeline.yields.small import code_of
from pipeline.yields.whole import Whole
from reports.facts import Row
from reports.sections import coded, part, section, table
from reports.statement_parts import Voice
from reports.yield_figures import kilos, percent


def next_section(v: Voice, whole: Whole) -> Row:
    """What this season and the next may bring, with a range, and what the next one needs."""
    crop, ahead = whole.crop, whole.ahead
    running = crop if crop and 0 < crop.share_of_days < 1 else None
    return section(
        "next",
        v.say("The crop to come"),
        says=[_rests_on(v, one) for one in (running, ahead) if one][:1],
        parts=[
            _stations(v, v.say("This season as it stands"), running, begun=True)
            if running
            else None,
            _stations(v, v.say("Next season"), ahead) if ahead else None,
            _needs(v, whole.needs) if whole.needs else None,
        ],
        note=v.say(
            "Eight crops in ten should lie in their range. An estimate is no promise, and nobody "
            "should borrow against it. Needs follow from the range and from common practice; what "
            "to put on the land is for a soil test and the extension worker to say."
        ),
    )


def _rests_on(v: Voice, crop: Crop) -> str:
    if crop.seasons == 0:
        return v.say(
            "No earlier season is on the books, so the estimate rests on the age and density of "
            "the trees alone, and its range is wide. It narrows as seasons are closed."
        )
    if crop.share_in is None:
        text = v.say("The estimate rests on the trees and on earlier seasons ({n}).")
        return text.format(n=v.figures.count(crop.seasons))
    text = v.say(
        "The estimate rests on the trees, on earlier seasons ({n}), and on what is in: {days} of "
        "the season's days are over, by when {share} of a usual crop is in."
    )
    return text.format(
        n=v.figures.count(crop.seasons),
        days=percent(v, crop.share_of_days, 1),
        share=percent(v, crop.share_in, 1),
    )


def _stations(v: Voice, title: str, crop: Crop, *, begun: bool = False) -> Row | None:
    counts = dict(crop.members.group_by("station").len().iter_rows())
    large = [one for one in crop.stations if counts.get(one.name, 0) >= 5]
    small = [one for one in crop.stations if counts.get(one.name, 0) < 5]
    if small and sum(counts.get(one.name, 0) for one in small) < 5 and large:
        least = min(large, key=lambda one: (counts[one.name], one.name))
        large.remove(least)
        small.append(least)
    kind = "crop" if begun else "next_crop"
    shown = [
        _line(
            v,
            coded(
                v.station(one.name) or v.say("not known"),
                v.code("group", kind, code_of(one.name)),
            ),
            one,
            begun,
        )
        for one in large
    ]
    if small:
        joined = Estimate(
            name="",
            kg=sum(one.kg for one in small),
            low=sum(one.low for one in small),
            high=sum(one.high for one in small),
            in_kg=sum(one.in_kg for one in small),
        )
        shown.append(_line(v, v.say("Others together"), joined, begun))
    if crop.members.height < 5:
        return None
    heads = [v.say("Station"), v.say("Estimate, kg green"), v.say("From"), v.say("To")]
    if begun:
        heads.insert(1, v.say("In so far, kg"))
    return part(
        title=title, table=table(heads, shown, total=_line(v, v.say("Together"), crop.group, begun))
    )


def _line(v: Voice, name: str | Row, one: Estimate, begun: bool) -> list[Any]:
    so_far = [kilos(v, one.in_kg)] if begun else []
    return [name, *so_far, *(kilos(v, kg) for kg in (one.kg, one.low, one.high))]


def _needs(v: Voice, needs: Needs) -> Row:
    f = v.figures
    both = v.say("{low} to {high}")

    def span(ends: tuple[int, int]) -> str:
        return both.format(low=f.count(ends[0]), high=f.count(ends[1]))

    shown = [
        [v.say("Basins of manure, one a bearing tree"), f.count(needs.manure_basins)],
        [v.say("Seedlings for gaps"), f.count(needs.seedlings)],
        [v.say("Trees to mulch, a foot clear of the stem"), f.count(needs.mulch_trees)],
        [v.say("Bags of 60 kg green"), span(needs.bags)],
    ]
    if needs.drying_m2:
        shown.append([v.say("Drying space in the busiest fortnight, m²"), span(needs.drying_m2)])
    shown += [
        [v.say("Pickers a day in {month}").format(month=month), span((low, high))]
        for month, low, high in needs.pickers
    ]
    if needs.cash_minor:
        label = v.say("Cash for first payments at this season's prices, {currency}")
        low, high = (f.money(minor) for minor in needs.cash_minor)
        shown.append([label.format(currency=v.facts.currency), both.format(low=low, high=high)])
    return part(
        title=v.say("What the next season needs"),
        table=table([v.say("Need"), v.say("How much")], shown),
    )
