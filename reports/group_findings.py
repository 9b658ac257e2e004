"""What the season shows, said first: plain sentences, each with the figures it rests on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from reports.facts import Row
from reports.group_parts import share
from reports.statement_parts import Voice


@dataclass(frozen=True, slots=True)
class Group:
    """The rows of the whole group."""

    total: Row
    practice: Row
    weeks: list[Row]
    yields: list[Row]
    moisture: list[Row]
    record: list[Row]
    flags: list[Row]


def findings(v: Voice, got: Group, record: Row | None, titles: Mapping[str, str]) -> list[str]:
    """Five to seven plain sentences, each with the figures it rests on."""
    return [
        *_coffee_found(v, got),
        *_yield_found(v, got.yields),
        *_moisture_found(v, got.moisture),
        *_record_found(v, got.total, record),
        *_waiting_found(v, got, titles),
        *_training_found(v, got),
    ]


def _coffee_found(v: Voice, got: Group) -> list[str]:
    f, total = v.figures, got.total
    came = v.say(
        "{delivering} of {members} members delivered coffee that comes to {kg} kg of green, "
        "in {deliveries} deliveries."
    ).format(
        delivering=f.count(total["delivering"]),
        members=f.count(total["members"]),
        kg=f.gbe(total["gbe_kg"]),
        deliveries=f.count(total["deliveries"]),
    )
    worth = v.say(
        "It is worth {value}; {deducted} was deducted, {paid} is paid, and {balance} is owed to "
        "members."
    ).format(
        value=f.cash(total["value_minor"]),
        deducted=f.cash(total["deducted_minor"]),
        paid=f.cash(total["paid_minor"]),
        balance=f.cash(total["balance_minor"]),
    )
    return [came, worth]


def _yield_found(v: Voice, yields: list[Row]) -> list[str]:
    named = [row for row in yields if row["village"] is not None]
    if not named:
        return []
    most = max(named, key=lambda row: row["members"])
    low = min(
        (row for row in named if row["species"] == most["species"]), key=lambda row: row["middle"]
    )
    text = v.say(
        "The typical tree bears least in {village}: half of its {n} members are below {kg} kg of "
        "green a bearing tree, and a quarter are above {upper} kg."
    )
    return [
        text.format(
            village=low["village"],
            n=v.figures.count(low["members"]),
            kg=v.figures.gbe(low["middle"]),
            upper=v.figures.gbe(low["upper"]),
        )
    ]


def _moisture_found(v: Voice, rows_: list[Row]) -> list[str]:
    if not rows_:
        return []
    worst = max(rows_, key=lambda row: (row["wet"] * 1000 // row["readings"], row["station"]))
    text = v.say("At {station}, {n} of {all} moisture readings ({share} %) were above {most} %.")
    return [
        text.format(
            station=v.station(worst["station"]),
            n=v.figures.count(worst["wet"]),
            all=v.figures.count(worst["readings"]),
            share=share(v, worst["wet"], worst["readings"]),
            most=v.figures.percent(v.facts.moisture_band[1]),
        )
    ]


def _record_found(v: Voice, total: Row, record: Row | None) -> list[str]:
    f = v.figures
    if record is None:
        text = v.say("{n} of {all} members kept no farm record; too few did to show a margin.")
        return [text.format(n=f.count(total["unrecorded"]), all=f.count(total["members"]))]
    text = v.say(
        "{n} members recorded costs: {cost} against coffee worth {value}. Members whose costs were "
        "above their coffee's value: {below}."
    )
    return [
        text.format(
            n=f.count(record["members"]),
            cost=f.cash(record["cost_minor"]),
            value=f.cash(record["value_minor"]),
            below=f.count(record["below_zero"]),
        )
    ]


def _waiting_found(v: Voice, got: Group, titles: Mapping[str, str]) -> list[str]:
    f, total = v.figures, got.total
    if total["waiting_rows"] == 0:
        return [v.say("No coffee waits: every delivery is counted or decided.")]
    said = v.say(
        "Deliveries that wait to be counted: {n} ({kg} kg); members concerned: {members}."
    ).format(
        n=f.count(total["waiting_rows"]),
        members=f.count(total["waiting_members"]),
        kg=f.kg(total["waiting_kg"]),
    )
    waits = [row for row in got.flags if row["severity"] != "note" and row["open"] > 0]
    if waits:
        first = max(waits, key=lambda row: row["open"])
        text = v.say("The most frequent reason is “{rule}” ({n}).")
        rule = titles.get(first["rule"], first["rule"])
        said += " " + text.format(rule=rule, n=f.count(first["open"]))
    return [said]


def _training_found(v: Voice, got: Group) -> list[str]:
    named = {
        "recording": v.say("keeping a farm record"),
        "drying": v.say("drying and measuring moisture"),
        "pruning": v.say("pruning, mulch and manure where trees bear least"),
    }
    counts = sorted(
        ((got.practice[code], what) for code, what in named.items() if got.practice[code] > 0),
        reverse=True,
    )
    if not counts:
        return []
    listed = "; ".join(f"{what} ({v.figures.count(n)})" for n, what in counts)
    return [v.say("Training by the members it would concern: {list}.").format(list=listed)]
