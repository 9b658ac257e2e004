"""The group report: what the season came to, where it was lost, and what was decided."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

import duckdb

from pipeline.season.coffee_sheets import coffee_weeks, whole_season
from pipeline.season.tables import dicts, season_sql
from reports import group_parts as parts
from reports.coffee_balance import coffee_balance
from reports.facts import CoopFacts, ReportError, Row
from reports.figures import Figures
from reports.gate_page import Check, gate_model
from reports.group_figures import figure_sections
from reports.group_findings import Group, findings
from reports.group_losses import outturn
from reports.query import one, rows
from reports.sections import part, section
from reports.small_groups import LEAST
from reports.statement_parts import Voice, green_factor
from reports.words import catalogue, spoken


def _fetch(con: duckdb.DuckDBPyConnection, facts: CoopFacts) -> Group:
    wet = {"moisture_most": facts.moisture_band[1], "least": LEAST}
    return Group(
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
    shown = gate_model(facts, gate, day=day, language=language)
    few = v.say("Cells of fewer than five members are joined.")
    in_money = f", {facts.currency}"
    moisture = parts.moisture(v, got.moisture)
    decided = rows(con, "group_decisions")
    sections = [
        section("coffee", v.say("Coffee in"),
                parts=[part(table=parts.coffee(v, rows(con, "group_coffee"), got.total))]),
        section("weeks", v.say("Coffee in by week and station"),
                parts=parts.weeks(v, got.weeks), note=few),
        section("yields", v.say("Yield a bearing tree"),
                parts=parts.yields(v, got.yields), note=few),
        section("moisture", v.say("Moisture by station"), parts=[moisture],
                says=[] if moisture else [v.say("Too few moisture readings to show.")]),
        section("balance", v.say("Where the coffee is"),
                parts=coffee_balance(v, whole_season(coffee_weeks(con)))),
        outturn(v, rows(con, "group_outturn")),
        section("money", v.say("Value, deductions, payments and balance") + in_money,
                parts=[part(table=parts.money(v, money, got.total))], note=few),
        section("record", v.say("Income against recorded cost") + in_money,
                parts=[part(table=record["table"])] if record else [],
                says=[] if record else
                [v.say("Fewer than five members recorded a cost; nothing is shown.")]),
        *figure_sections(v, con),
        section("flags", v.say("What the checks found, and what was decided"),
                parts=[part(table=parts.flags(v, got.flags, decided, titles))]),
        section("gate", v.say("Checks before issue"), says=[shown["verdict"]],
                parts=parts.gate(shown, v)),
        section("made", v.say("How the figures are made"), bullets=[
            *made(v),
            *(green_factor(v, row) for row in dicts(con, season_sql("green_in_force"))),
        ]),
    ]  # fmt: skip
    return {
        "lang": language,
        "coop": facts.name,
        "season": v.say("Season") + f" {facts.season}",
        "title": v.say("Group report"),
        "day": figures.day(day),
        "iso_day": day.isoformat(),
        "findings_title": v.say("What the season shows"),
        "findings": findings(v, got, record, titles),
        "totals": section("totals", v.say("From value to balance"),
                          lines=parts.totals(v, got.total, deducted)),
        "sections": [one for one in sections if one["parts"] or one["says"] or one["bullets"]],
    }  # fmt: skip


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
