"""A statement to be read aloud: whole sentences in the order of the page, no tables, no codes."""

from __future__ import annotations

from reports.facts import Row
from reports.statement_parts import Voice


def aloud(v: Voice, model: Row) -> str:
    """A dated statement as plain text, a paragraph a part; for who reads it out, or a machine."""
    who, issue, labels = model["member"], model["issue"], model["labels"]
    parts = [
        [
            f"{model['coop']}. {model['title']}, {labels['season']} {model['season']}.",
            f"{who['name']}. {labels['member_no']} {who['no']}. {labels['village']} "
            f"{who['village']}. {labels['station']} {who['station']}.",
            f"{labels['number']} {issue['number']}. {labels['day']} {issue['day']}.",
        ],
        [f"{f['label']}: {f['value']}, {f['note']}." for f in model["figures"]],
        _coffee(v, model),
        [_money(row) for row in model["money"]],
        [*(_apart(v, row) for row in model["apart"]["rows"]), model["apart"]["say"]],
        _waiting(model),
        [f"{labels['yield']}. {y['label']}: {y['value']} {y['note']}. {y['say']}"
         for y in model["yields"]],
        [f"{labels['record']}.", *(_money(row) for row in model["record"]["rows"]),
         model["record"]["say"]],
        [f"{labels['advice']}.", *model["advice"]] if model["advice"] else [],
        [f"{labels['decisions']}.", *(f"{d['day']}. {d['say']}" for d in model["decisions"])]
        if model["decisions"] else [],
        [f"{labels['questions']}. {issue['questions']}"],
    ]  # fmt: skip
    told = ("\n".join(line for line in part if line) for part in parts)
    return "\n\n".join(part for part in told if part) + "\n"


def _coffee(v: Voice, model: Row) -> list[str]:
    rows = model["coffee"]["rows"]
    if not rows:
        return [model["coffee"]["none"]]
    say = v.say("{coffee}: deliveries {n}, net {kg} kg, worth {value}.")
    return [
        say.format(
            coffee=row["label"], n=row["deliveries"], kg=row["kg"],
            value=f"{v.facts.currency} {row['value']}",
        )
        for row in rows
    ]  # fmt: skip


def _money(row: Row) -> str:
    note = f" ({row['note']})" if row["note"] else ""
    return f"{row['label']}{note}: {row['amount']}."


def _apart(v: Voice, row: Row) -> str:
    if not row["start"]:
        return f"{row['label']} ({row['note']}): {row['now']}."
    say = v.say("{what}: at the start {start}, added {more}, taken off {less}, now {now}.")
    return say.format(what=row["label"], **{k: row[k] for k in ("start", "more", "less", "now")})


def _waiting(model: Row) -> list[str]:
    waiting, labels = model["waiting"], model["labels"]
    if not waiting["rows"]:
        return []
    said = [
        f"{labels['receipt']} {w['receipt']}, {w['day']}, {w['kg']} kg. {w['why']}"
        for w in waiting["rows"]
    ]
    return [f"{labels['waiting']}. {waiting['say']}", *said]
