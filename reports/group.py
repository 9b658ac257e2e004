"""The group report: what the season came to, where it was lost, and what was decided."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import duckdb

from pipeline.season.coffee_sheets import coffee_weeks, whole_season
from pipeline.season.tables import dicts, season_sql
from reports import group_parts as parts
from reports.coffee_balance import coffee_balance
from reports.facts import CoopFacts, ReportError, Row
from reports.figures import Figures
from reports.gate_page import Check, gate_model
from reports.group_figures import figure_sections
from reports.labels import green_factor
from reports.query import one, rows
from reports.small_groups import LEAST
from reports.statement_parts import Voice
from reports.words import catalogue, spoken


@dataclass(frozen=True, slots=True)
class _Fetched:
    """The rows of the whole group."""

    total: Row
    practice: Row
    weeks: list[Row]
    yields: list[Row]
    moisture: list[Row]
    record: list[Row]
    flags: list[Row]


def _fetch(con: duckdb.DuckDBPyConnection, facts: CoopFacts) -> _Fetched:
    wet = {"moisture_most": facts.moisture_band[1], "least": LEAST}
    return _Fetched(
        total=one(con, "group_totals"),
        practice=one(con, "group_practice", **wet),
        weeks=rows(con, "group_weeks"),
        yields=rows(con, "group_yield", least=LEAST),
        moisture=rows(con, "group_moisture", **wet),
        record=rows(con, "group_record"),
        flags=rows(con, "group_flags"),
    )


def group_model(
    con: duckdb.DuckDBPyConnection,
    facts: CoopFacts,
    *,
    day: dt.date,
    gate: Sequence[Check],
    rule_titles: Mapping[str, str] | None = None,
) -> Row:
    """The view model of the group report, every printed figure already a string.

    `rule_titles` gives a rule's plain title by its code. ReportError where the stations and
    villages do not add up to the totals.
    """
    language = spoken(None, facts.languages)
    figures = Figures(language, facts.currency, facts.decimals)
    v = Voice(language=language, say=catalogue(language).gettext, figures=figures, facts=facts)
    titles = dict(rule_titles or {})
    got = _fetch(con, facts)
    money = rows(con, "group_money")
    deducted = rows(con, "group_deducted")
    _must_add_up(got.total, money, deducted)
    record = parts.record(v, got.record)
    return {
        "lang": language,
        "coop": facts.name,
        "season": f"{v.say('Season')} {facts.season}",
        "title": v.say("Group report"),
        "currency": facts.currency,
        "day": figures.day(day),
        "iso_day": day.isoformat(),
        "words": _words(v),
        "findings": findings(v, got, record, titles),
        "totals": parts.totals(v, got.total, deducted),
        "coffee": parts.coffee(v, rows(con, "group_coffee"), got.total),
        "balance": coffee_balance(v, whole_season(coffee_weeks(con))),
        "weeks": parts.weeks(v, got.weeks),
        "yields": parts.yields(v, got.yields),
        "moisture": parts.moisture(v, got.moisture),
        "money": parts.money(v, money, got.total),
        "record": record,
        "sections": figure_sections(v, con),
        "flags": parts.flags(v, got.flags, rows(con, "group_decisions"), titles),
        "gate": parts.gate(gate_model(facts, gate, day=day, language=language), v),
        "made": [
            *made(v),
            *(green_factor(v.say, row) for row in dicts(con, season_sql("green_in_force"))),
        ],
    }


def _must_add_up(total: Row, money: list[Row], deducted: list[Row]) -> None:
    """ReportError unless what is printed adds up, to the smallest coin."""
    sums = {name: sum(row[name] for row in money) for name in ("gbe_kg", *parts.MONEY)}
    pairs = [(name, total[name], added) for name, added in sums.items()]
    taken = sum(row["amount_minor"] for row in deducted)
    pairs.append(("deducted_minor by deduction", total["deducted_minor"], taken))
    for name, whole, added in pairs:
        if whole != added:
            raise ReportError(
                f"group report: {name} is {whole}, but its parts add up to {added}. "
                "Nothing is issued until they agree: rebuild the season, then look again."
            )


def findings(v: Voice, got: _Fetched, record: Row | None, titles: Mapping[str, str]) -> list[str]:
    """Five to seven plain sentences, each with the figures it rests on."""
    return [
        *_coffee_found(v, got),
        *_yield_found(v, got.yields),
        *_moisture_found(v, got.moisture),
        *_record_found(v, got.total, record),
        *_waiting_found(v, got, titles),
        *_training_found(v, got),
    ]


def _coffee_found(v: Voice, got: _Fetched) -> list[str]:
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
            share=parts.share(v, worst["wet"], worst["readings"]),
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


def _waiting_found(v: Voice, got: _Fetched, titles: Mapping[str, str]) -> list[str]:
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


def _training_found(v: Voice, got: _Fetched) -> list[str]:
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


def made(v: Voice) -> list[str]:
    """How the figures are made, in plain sentences."""
    return [
        v.say("Coffee is what the stations' scales showed, gross less tare, of rows that count."),
        v.say(
            "Green bean equivalent brings each form to green coffee by the factor in force; each "
            "weighing is rounded once, to the gram."
        ),
        v.say("Value is net kilograms at the price of the day, rounded once a weighing."),
        v.say(
            "Quartiles are taken between members who delivered, by linear interpolation; the box "
            "holds the middle half, the heavy tick is the median, the line runs from lowest to "
            "highest."
        ),
        v.say(
            "Groups of fewer than five members are joined with others and never shown alone; "
            "totals hold everybody."
        ),
        v.say("Margins use only costs that members wrote down; family work is not counted."),
    ]


def _words(v: Voice) -> dict[str, str]:
    return {
        "findings": v.say("What the season shows"),
        "totals": v.say("From value to balance"),
        "coffee": v.say("Coffee in"),
        "balance": v.say("Where the coffee is"),
        "weeks": v.say("Coffee in by week and station"),
        "yields": v.say("Yield a bearing tree"),
        "moisture": v.say("Moisture by station"),
        "no_moisture": v.say("Too few moisture readings to show."),
        "money": v.say("Value, deductions, payments and balance"),
        "record": v.say("Income against recorded cost"),
        "no_record": v.say("Fewer than five members recorded a cost; nothing is shown."),
        "flags": v.say("What the checks found, and what was decided"),
        "gate": v.say("Checks before issue"),
        "made": v.say("How the figures are made"),
        "cut": v.say("A line that runs out of the drawing ends at the figure in the table."),
        "few": v.say("Cells of fewer than five members are joined."),
    }
