"""The rule table as people read it: for `checks/README.md` and `weighbook rules`."""

from typing import Any

from checks.limits import Limit, limits
from checks.rule import Rule
from checks.rules import RULES

SEVERITIES = {
    "send_back": "**sent back**: the row cannot be counted as it stands",
    "hold": "**held**: the row waits for the manager",
    "note": "**noted**: the row counts, and the flag is shown",
}


def _values(limit: Limit) -> str:
    parts = [f"{limit.default:f}"] if limit.default is not None else []
    parts += [
        f"{what.replace('_', ' ')} {value:f}"
        for values in limit.by.values()
        for what, value in values.items()
    ]
    return ", ".join(parts)


def _holds(rule: Rule) -> str:
    """Return how long a decision on a finding that grows with the season holds; "" for the rest."""
    if not rule.band:
        return ""
    beyond = f" by more than {rule.band.pct} %" if rule.band.pct else ""
    return f"until the {rule.band.words} has grown{beyond}"


def rule_dicts() -> list[dict[str, Any]]:
    """Return every rule with its limits, sources and dates, in the order of the table."""
    return [
        {
            "code": rule.code,
            "severity": rule.severity,
            "looks_at": list(rule.on),
            "column": rule.col,
            "says": rule.say,
            "do": rule.do,
            "sure": rule.sure,
            "source": rule.source,
            "decision_holds": _holds(rule),
            "limits": [
                {
                    "name": name,
                    "values": _values(limits()[name]),
                    "unit": limits()[name].unit,
                    "source": limits()[name].source,
                    "date": limits()[name].date,
                }
                for name in rule.limits
            ],
        }
        for rule in RULES
    ]


def rule_list() -> str:
    """Return the rule list as Markdown."""
    lines = [
        "# The rules",
        "",
        "Made from the rule table by `weighbook rules --markdown`; a test keeps it current. A rule",
        "accuses nobody: it says what does not fit, and what to do next. Every limit can be set",
        "otherwise in `book.toml`, for all or for one species, form or station:",
        "",
        "```toml",
        "[[limit]]",
        'name = "moisture_safe_high"',
        'form = "parchment"',
        'value = "12.5"',
        'because = "Resolution 4 of 14 February 2026"',
        "```",
        "",
    ]
    for severity, words in SEVERITIES.items():
        lines += [f"## {words[2:].partition('**')[0].capitalize()}", "", f"{words}.", ""]
        for rule in rule_dicts():
            if rule["severity"] == severity:
                lines += _rule_lines(rule)
    lines += ["## Limits", "", "| limit | value | unit | source | set |", "|---|---|---|---|---|"]
    lines += [
        f"| `{limit.name}` | {_values(limit)} | {limit.unit} | {limit.source} | {limit.date} |"
        for limit in limits().values()
    ]
    return "\n".join(lines) + "\n"


def _rule_lines(rule: dict[str, Any]) -> list[str]:
    kinds = ", ".join(kind.replace("_", " ") for kind in rule["looks_at"])
    lines = [f"### `{rule['code']}`", "", f"Looks at {kinds}. Says: {rule['says']} {rule['do']}"]
    if rule["limits"]:
        names = ", ".join(f"`{limit['name']}`" for limit in rule["limits"])
        lines += ["", f"Limits: {names}."]
    if rule["decision_holds"]:
        lines += ["", f"A decision holds {rule['decision_holds']}."]
    if rule["source"]:
        lines += ["", f"Source: {rule['source']}."]
    return [*lines, ""]
