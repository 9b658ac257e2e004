"""Outturn of the lots: what each gave, beside what the bounds expect, station by station."""

from __future__ import annotations

from decimal import Decimal

from reports import charts
from reports.facts import Row
from reports.labels import COFFEE, coffee_name, word
from reports.sections import part, section, table
from reports.statement_parts import Voice


def outturn(v: Voice, rows: list[Row]) -> Row:
    """The section on outturn; rows of `group_outturn`, one a lot, station and change of form."""
    changes = dict.fromkeys((r["species"], r["form_before"], r["form_after"]) for r in rows)
    parts = [_change(v, [r for r in rows if _of(r) == change], change) for change in changes]
    says = [
        v.say(
            "Outturn is what a step gave of what went in, by weight, of lots whose card holds "
            "both. The grey band is what the outturn bounds and the drying expect."
        )
    ]
    return section("outturn", v.say("Outturn by lot"), says=says if parts else [], parts=parts)


def _of(row: Row) -> tuple[str, str, str]:
    return row["species"], row["form_before"], row["form_after"]


def _change(v: Voice, rows: list[Row], change: tuple[str, str, str]) -> Row:
    """One change of form: a tick a lot over the band, and the stations as a table."""
    species, before, after = change
    title = v.say("{before} to {after}").format(
        before=coffee_name(v.say, species, before), after=v.say(word(COFFEE, after))
    )
    into = sum(row["in_g"] for row in rows)
    band = tuple(_percent(sum(row[name] for row in rows), into) for name in ("low_g", "high_g"))
    low, high = (v.figures.percent(end) for end in band)
    named = [
        {"name": v.station(row["station"]), "at": _percent(row["out_g"], row["in_g"])}
        for row in rows
    ]
    alt = v.say(
        "Outturn of each lot by station, over the band from {low} to {high} %. "
        "Figures in the table."
    ).format(low=low, high=high)
    axis = v.say("outturn %, band from {low} to {high}").format(low=low, high=high)
    svg = charts.ticks(named, x_title=axis, alt=alt, band=(band[0], band[1]))
    return part(title=title, svg=svg, alt=alt, table=_stations(v, rows, band))


def _percent(part_g: int, whole_g: int) -> Decimal:
    """Per cent to one decimal, half away from zero."""
    return Decimal((2000 * part_g + whole_g) // (2 * whole_g)) / 10


def _stations(v: Voice, rows: list[Row], band: tuple[Decimal, ...]) -> Row:
    f = v.figures
    heads = [v.say("Station"), v.say("Lots"), v.say("In, kg"), v.say("Out, kg"),
             v.say("Lowest"), v.say("Outturn %"), v.say("Highest"),
             v.say("Below {low} %").format(low=f.percent(band[0])),
             v.say("Unexplained, kg")]  # fmt: skip
    cells: list[list[str]] = []
    for station in dict.fromkeys(row["station"] for row in rows):
        mine = [row for row in rows if row["station"] == station]
        pcts = [_percent(row["out_g"], row["in_g"]) for row in mine]
        sums = {name: sum(row[name] for row in mine) for name in ("in_g", "out_g", "loss_g")}
        cells.append(
            [v.station(station), f.count(len(mine)), _kg(v, sums["in_g"]), _kg(v, sums["out_g"]),
             f.percent(min(pcts)), f.percent(_percent(sums["out_g"], sums["in_g"])),
             f.percent(max(pcts)),
             f.count(sum(row["out_g"] < row["low_g"] for row in mine)), _kg(v, sums["loss_g"])]
        )  # fmt: skip
    return table(heads, cells)


def _kg(v: Voice, grams: int) -> str:
    return v.figures.kg(Decimal(grams) / 1000)
