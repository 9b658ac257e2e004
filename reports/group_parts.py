"""The parts of the group report: rows of one query to printed strings and a chart."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any

from reports import charts
from reports.facts import Row
from reports.labels import ACTIONS, COFFEE, coffee_name, word
from reports.sections import part, table, two_lines
from reports.small_groups import disjoint, joined, overlapping
from reports.statement_parts import Voice

# So many stations stand side by side on a page.
_ACROSS = 7
MONEY = ("value_minor", "added_minor", "deducted_minor", "paid_minor", "balance_minor")


def _summed(cells: Sequence[Row], *names: str) -> dict[str, Any]:
    return {name: sum(cell[name] for cell in cells) for name in names}


def coffee(v: Voice, rows: list[Row], total: Row) -> Row:
    """Coffee in by species and form."""
    f = v.figures
    made = table(
        [v.say("Coffee"), v.say("Deliveries"), v.say("Net kg"), v.say("Green, kg"),
         v.facts.currency],
        [
            [coffee_name(v.say, r["species"], r["form"]), f.count(r["deliveries"]),
             f.kg(r["net_kg"]), f.gbe(r["gbe_kg"]), f.money(r["value_minor"])]
            for r in rows
        ],
    )  # fmt: skip
    made["sum"] = [v.say("Together"), f.count(total["deliveries"]), "", f.gbe(total["gbe_kg"]),
                   f.money(total["value_minor"])]  # fmt: skip
    return made


def weeks(v: Voice, rows: list[Row]) -> list[Row]:
    """Coffee in by week and station, as a chart and as the tables behind it."""
    kept: dict[str, list[Row]] = {}
    for row in rows:
        kept.setdefault(v.station(row["station"]), []).append(row)
    for station, cells in kept.items():
        kept[station] = joined(
            cells,
            join=lambda small: {
                "week": None,
                "members": overlapping(small),
                **_summed(small, "gbe_kg"),
            },
            members=overlapping,
        )
    alt = v.say("Green bean equivalent in by week, one strip a station. Figures in the table.")
    drawn = [
        {"week": row["week"].isocalendar().week, "station": station, "kg": row["gbe_kg"]}
        for station, cells in kept.items()
        for row in cells
        if row["week"] is not None
    ]
    title = v.say("Week of the year")
    svg = charts.weeks_by_station(drawn, x_title=title, y_title="kg", alt=alt) if drawn else ""
    names = list(kept)
    several = [names[n : n + _ACROSS] for n in range(0, len(names), _ACROSS)]
    tables = [_weeks_across(v, kept, some) for some in several]
    return [part(svg=svg, alt=alt), *(part(table=one) for one in tables)]


def _weeks_across(v: Voice, kept: dict[str, list[Row]], stations: list[str]) -> Row:
    """A row a week, a column a station; what was joined stands in a last row."""
    at = {(s, row["week"]): v.figures.gbe(row["gbe_kg"]) for s in stations for row in kept[s]}
    weeks = sorted({week for _, week in at if week is not None})
    made = [
        [v.figures.day(week), str(week.isocalendar().week)]
        + [at.get((s, week), "–") for s in stations]
        for week in weeks
    ]
    if any(week is None for _, week in at):
        made.append([v.say("Other weeks"), "", *(at.get((s, None), "–") for s in stations)])
    return table([v.say("Green, kg, week from"), v.say("Week"), *stations], made)


def yields(v: Voice, rows: list[Row]) -> list[Row]:
    """Yield a bearing tree by village: one chart and table a species."""
    made: list[Row] = []
    for species in dict.fromkeys(row["species"] for row in rows):
        named: list[Row] = [
            row | {"name": row["village"] or v.say("Other villages")}
            for row in rows
            if row["species"] == species
        ]
        title = v.say(word(COFFEE, species))
        alt = v.say("{coffee}: yield a bearing tree by village. Figures in the table.").format(
            coffee=title
        )
        svg = charts.spreads(named, x_title=v.say("kg green a bearing tree"), alt=alt)
        table_made = _spread_table(v, v.say("Village"), named, v.figures.gbe)
        cut = _cut(v) if charts.reach(named) is not None else ""
        made.append(part(title=title, svg=svg, alt=alt, cut=cut, table=table_made))
    return made


def _cut(v: Voice) -> str:
    return v.say("A line that runs out of the drawing ends at the figure in the table.")


def _spread_table(v: Voice, what: str, rows: list[Row], figure: Callable[[Decimal], str]) -> Row:
    heads = [what, v.say("Members"), v.say("Lowest"), v.say("Lower quarter"), v.say("Median"),
             v.say("Upper quarter"), v.say("Highest")]  # fmt: skip
    keys = ("low", "lower", "middle", "upper", "high")
    return table(
        heads,
        [[r["name"], v.figures.count(r["members"]), *(figure(r[key]) for key in keys)]
         for r in rows],
    )  # fmt: skip


def moisture(v: Voice, rows: list[Row]) -> Row | None:
    """Moisture of dry forms by station, over the band it should lie in."""
    if not rows:
        return None
    low, high = v.facts.moisture_band
    named: list[Row] = [row | {"name": v.station(row["station"])} for row in rows]
    alt = v.say(
        "Moisture by station over the band from {low} to {high} %. Figures in the table."
    ).format(low=v.figures.percent(low), high=v.figures.percent(high))
    made = _spread_table(v, v.say("Station"), named, v.figures.percent)
    made["heads"].append(v.say("Above {high} %").format(high=v.figures.percent(high)))
    for cells, row in zip(made["rows"], named, strict=True):
        of = v.say("{n} of {all}").format(
            n=v.figures.count(row["wet"]), all=v.figures.count(row["readings"])
        )
        cells.append(of)
    title = v.say("moisture %, band from {low} to {high}").format(
        low=v.figures.percent(low), high=v.figures.percent(high)
    )
    svg = charts.spreads(named, x_title=title, alt=alt, band=(low, high))
    cut = _cut(v) if charts.reach(named, high) is not None else ""
    return part(svg=svg, alt=alt, cut=cut, table=made)


def money(v: Voice, rows: list[Row], total: Row) -> Row:
    """Value, deductions, payments and balance by station and village; adds up to the totals."""
    f = v.figures

    def join(small: list[Row]) -> Row:
        together = {"station": None, "village": None, "members": disjoint(small)}
        return {**together, **_summed(small, "gbe_kg", "opening_minor", *MONEY)}

    kept = joined(rows, join=join, members=disjoint)
    # What was owed before is a column only where some is: without it lines would not add up.
    before = any(r["opening_minor"] for r in kept)
    names = ("opening_minor", *MONEY) if before else MONEY
    opening = [v.say("Owed to members from before")] if before else []
    made = table(
        [v.say("Station"), v.say("Village"), v.say("Members"), *opening, v.say("Value"),
         v.say("Added"), v.say("Deducted"), v.say("Paid"), v.say("Balance")],
        [
            ["" if r["village"] is None else v.station(r["station"]),
             v.say("Not in the register") if r.get("registered") is False
             else r["village"] or v.say("Others together"),
             f.count(r["members"]), *(f.money(r[name]) for name in names)]
            for r in kept
        ],
        text=2,
    )  # fmt: skip
    made["sum"] = [v.say("Together"), "", f.count(sum(r["members"] for r in kept)),
                   *(f.money(total[name]) for name in names)]  # fmt: skip
    return made


def totals(v: Voice, total: Row, deducted: list[Row]) -> list[Row]:
    """The group's money from value to balance, each with its figure code."""
    f = v.figures
    taken = {row["deduction"]: row["amount_minor"] for row in deducted}
    lines = [(v.say("Green bean equivalent"), "", f.gbe(total["gbe_kg"]) + "\u00a0kg", "gbe")]
    if total["opening_minor"]:
        carried = f.cash(total["opening_minor"])
        lines.append((v.say("Owed to members from before"), "", carried, "opening"))
    lines.append((v.say("Value of coffee"), "", f.cash(total["value_minor"]), "value"))
    for name, label in (
        ("premium", v.say("Premiums less discounts")),
        ("second", v.say("Second payment")),
        ("other", v.say("Corrections, balances moved, unclaimed money")),
    ):
        if total[f"{name}_minor"]:
            lines.append((label, "", f.cash(total[f"{name}_minor"]), name))
    for d in v.facts.deductions:
        name = d.named(v.language)
        lines.append((name, d.authority, f.cash(-taken.pop(d.code, 0)), f"deducted/{d.code}"))
    before = v.say("Held back before this book began")

    def named(code: str) -> str:
        return v.say(v.facts.undeclared[code].name) if code in v.facts.undeclared else code

    lines += [
        (before if code == "before" else named(code), "", f.cash(-amount), f"deducted/{code}")
        for code, amount in taken.items()
    ]
    lines += [
        (v.say("Paid to members"), "", f.cash(-total["paid_minor"]), "paid"),
        (v.say("Balance owed to members"), "", f.cash(total["balance_minor"]), "balance"),
    ]
    return [
        {"label": label, "note": note, "amount": amount, "code": v.code("group", code)}
        for label, note, amount, code in lines
    ]


def record(v: Voice, rows: list[Row]) -> Row | None:
    """Income against recorded cost, of the members who recorded one."""
    if not rows or disjoint(rows) < 5:
        return None
    f = v.figures
    names = ("value_minor", "cost_minor", "margin_minor", "below_zero")
    kept = joined(
        rows,
        join=lambda small: {"station": None, "members": disjoint(small), **_summed(small, *names)},
        members=disjoint,
    )
    made = table(
        [v.say("Station"), v.say("Members"), v.say("Value"), v.say("Recorded costs"),
         v.say("Value less costs")],
        [
            [v.station(r["station"]) or v.say("Others together"),
             f.count(r["members"]), *(f.money(r[name]) for name in names[:3])]
            for r in kept
        ],
    )  # fmt: skip
    total = _summed(kept, "members", *names)
    made["sum"] = [v.say("Together"), f.count(total["members"]),
                   *(f.money(total[name]) for name in names[:3])]  # fmt: skip
    return {"table": made, **total}


def flags(v: Voice, rows: list[Row], decisions: list[Row], titles: dict[str, str]) -> Row:
    """Flags by rule, and what was decided."""
    f = v.figures
    severities = {"hold": v.say("hold"), "note": v.say("note"), "send_back": v.say("send back")}
    did: dict[str, list[str]] = {}
    for row in decisions:
        action = v.say(word(ACTIONS, row["action"]))
        did.setdefault(row["rule"], []).append(f"{action}: {f.count(row['decisions'])}")
    return table(
        [v.say("Rule"), v.say("Severity"), v.say("Decided"), v.say("Flags"), v.say("Open"),
         v.say("Open kg")],
        [
            [word(titles, r["rule"]), word(severities, r["severity"]),
             "; ".join(did.get(r["rule"], [])) or "–", f.count(r["flags"]), f.count(r["open"]),
             f.kg(r["open_kg"])]
            for r in rows
        ],
        text=3,
    )  # fmt: skip


def gate(model: Row, v: Voice) -> list[Row]:
    """The checks before issue: those that fail in full, those that hold counted by name."""
    w = model["words"]
    heads = [w[name] for name in ("name", "looked_at", "observed", "allowed")]
    failing = [
        part(
            title=of["title"],
            table=table(
                heads,
                [
                    [two_lines(c["name"], c["detail"]), c["looked_at"], c["observed"], c["allowed"]]
                    for c in of["checks"]
                ],
                text=4,
            ),
        )
        for of in model["parts"]
        if not of["checks"][0]["ok"]
    ]
    holding = [c["name"] for of in model["parts"] for c in of["checks"] if c["ok"]]
    if not holding:
        return failing
    counted = [[name, v.figures.count(holding.count(name))] for name in dict.fromkeys(holding)]
    named = [v.say("Checks that hold; each is on the page of checks"), v.say("How many")]
    return [*failing, part(table=table(named, counted))]


def share(v: Voice, part: int, whole: int) -> str:
    """Per cent to one decimal, half away from zero: 1 of 3 gives 33.3; whole must not be 0."""
    tenths = (Decimal(part) * 2000 + whole) // (Decimal(whole) * 2)
    return v.figures.percent(tenths / 10)
