"""From what a rule finds to a line of `found`: cell, facts, stakes, what a decision stands on."""

import re
from collections.abc import Sequence

from checks.limits import limits
from checks.rule import Rule

# Facts that come from around the row, not from it: a decision holds though they change.
SURROUNDINGS = frozenset(
    {"taken_day", "first_day", "last_day", "first_sheet", "first_row", "by_sheet", "middle_price"}
)


def named(rules: list[Rule]) -> set[str]:
    """Return the columns that rules name, and all other words of their SQL."""
    sql = " ".join(f"{rule.where} {rule.band.measure if rule.band else ''}" for rule in rules)
    limits_named = (limit for rule in rules for limit in rule.limits)
    return {*_needed(rules), *limits_named, *re.findall(r"[a-z_0-9]+", sql)}


def _needed(rules: list[Rule]) -> list[str]:
    """Return the columns that flags of these rules are made from, each once."""
    own = [
        name for rule in rules for name in (*rule.facts, *rule.about, *rule.judged, *_cell(rule))
    ]
    return list(
        dict.fromkeys(["sheet_no", "row_no", "row_key", "kg_at_stake", "minor_at_stake", *own])
    )


def _cell(rule: Rule) -> tuple[str, ...]:
    """Return the columns that a rule's cell and value come from: its own, or its query's."""
    return (rule.cell,) if rule.col else ("col", "value")


def finding(rule: Rule, source: str, where: str) -> str:
    """Return SQL for a rule's lines of `found`; all its texts are the rule table's, none data."""
    pairs = ", ".join(f"'{fact}', cast({fact} as varchar)" for fact in rule.facts)
    # A rule with no cell of its own takes the one that its query names.
    col, value = (
        (f"'{rule.col}'", f"cast({rule.cell} as varchar)") if rule.col else ("col", "value")
    )
    named = _texts(rule.about) if rule.about else "row_key"
    measure = f"cast({rule.band.measure} as decimal(18, 4))" if rule.band else "null"
    grown = f"cast({100 + rule.band.pct} / 100.0 as decimal(5, 2))" if rule.band else "null"
    return (
        f"select '{rule.code}', '{rule.severity}', (select kind from looked_at), sheet_no, row_no, "
        f"row_key, {col}, {value}, json_object({pairs}), {named}, {_judged(rule, value)}, "
        f"{measure}, cast({measure} * {grown} as decimal(18, 4)), "
        f"kg_at_stake, minor_at_stake from {source} where {where}"
    )


def _judged(rule: Rule, value: str) -> str:
    """Return SQL for what a decision on a finding stands on, as one text."""
    if rule.about or rule.judged:
        return _texts((*rule.about, *rule.judged))
    own = [f for f in rule.facts if f not in limits() and f not in SURROUNDINGS]
    return f"concat_ws('|', coalesce({value}, ''), {_texts(own)})"


def _texts(names: Sequence[str]) -> str:
    """Return SQL for some columns as one text; "" for none, and for each that is empty."""
    texts = ", ".join(f"coalesce(cast({name} as varchar), '')" for name in names)
    return f"concat_ws('|', {texts})" if texts else "''"
