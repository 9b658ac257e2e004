"""A member's statement as one plain dict, every printed figure already a string."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from hashlib import sha256

import duckdb

from reports import statement_costs as of_costs
from reports import statement_lines as behind
from reports import statement_margin as of_trees
from reports import statement_money as of_money
from reports import statement_parts as parts
from reports.facts import CoopFacts, Explain, ReportError, Row
from reports.figures import Figures
from reports.genuine import Sign, Signed, code, qr_svg
from reports.labels import labels
from reports.query import by_member, rows
from reports.statement_parts import Voice
from reports.words import catalogue, spoken

# Members fetched together: a dozen queries serve them all, and only they are in memory.
CHUNK = 1000
# Nobody's figures are shown beside a group that is smaller than this.
LEAST_GROUP = 5
# Unseen signs that turn the order of letters: with them a name would read as another.
_TURNS = dict.fromkeys([*range(0x202A, 0x202F), *range(0x2066, 0x206A)])


@dataclass(frozen=True, slots=True)
class _Fetched:
    """The rows of one chunk of members, gathered by member."""

    season: dict[str, list[Row]]
    coffee: dict[str, list[Row]]
    deducted: dict[str, list[Row]]
    payments: dict[str, list[Row]]
    added: dict[str, list[Row]]
    apart: dict[str, list[Row]]
    notes: dict[str, list[Row]]
    yields: dict[str, list[Row]]
    lines: dict[str, list[Row]]
    waiting: dict[str, list[Row]]
    flags: dict[str, list[Row]]
    decisions: dict[str, list[Row]]
    practice: dict[str, list[Row]]
    own: of_trees.Own


def _fetch(con: duckdb.DuckDBPyConnection, facts: CoopFacts, members: list[str]) -> _Fetched:
    def get(name: str) -> dict[str, list[Row]]:
        return by_member(con, name, members)

    most = facts.moisture_band[1]
    return _Fetched(
        season=get("statement_season"),
        coffee=get("statement_coffee"),
        deducted=get("statement_deducted"),
        payments=get("statement_payments"),
        added=get("statement_added"),
        apart=get("statement_apart"),
        notes=get("statement_notes"),
        yields=get("statement_yield"),
        lines=get("statement_lines"),
        waiting=get("statement_waiting"),
        flags=get("waiting_flags"),
        decisions=get("statement_decisions"),
        practice=by_member(con, "statement_practice", members, moisture_most=most),
        own=of_trees.own_rows(con, members),
    )


def statement_models(
    con: duckdb.DuckDBPyConnection,
    facts: CoopFacts,
    *,
    explain: Explain,
    members: Sequence[str] | None = None,
) -> Iterator[Row]:
    """One view model a member of the register, in the order of village and number.

    Memory holds one chunk of members at a time. The model has neither date nor version: `dated`
    adds them. `members` narrows to these numbers. ReportError where a member's ledger rows do
    not add up to the season's figures.
    """
    wanted = None if members is None else list(members)
    order = rows(con, "members_in_order", members=wanted)
    middle: dict[str, dict[str, Row]] = {}
    for row in rows(con, "village_yield", least=LEAST_GROUP):
        middle.setdefault(row["village"], {})[row["species"]] = row
    costs = of_trees.village_costs(con, LEAST_GROUP)
    voices: dict[str, Voice] = {}
    for start in range(0, len(order), CHUNK):
        chunk = order[start : start + CHUNK]
        fetched = _fetch(con, facts, [row["member_no"] for row in chunk])
        for member in chunk:
            language = spoken(member["language"], facts.languages)
            if language not in voices:
                voices[language] = voice(language, facts)
            halves = middle.get(member["village"], {})
            cost = costs.get(member["village"])
            yield _model(voices[language], language, member, fetched, halves, cost, explain)


def voice(language: str, facts: CoopFacts) -> Voice:
    """How a language says things: its catalogue and its figures."""
    figures = Figures(language, facts.currency, facts.decimals)
    return Voice(language=language, say=catalogue(language).gettext, figures=figures, facts=facts)


def _model(
    v: Voice,
    language: str,
    member: Row,
    got: _Fetched,
    middle: dict[str, Row],
    cost: Row | None,
    explain: Explain,
) -> Row:
    no = member["member_no"]
    (season,) = got.season[no]
    money = of_money.MemberMoney(
        season=season,
        deducted=got.deducted.get(no, []),
        added=got.added.get(no, []),
        payments=got.payments.get(no, []),
        apart=next(iter(got.apart.get(no, [])), None),
    )
    _must_add_up(no, got.coffee.get(no, []), money)
    trees = got.yields.get(no, [])
    asked = season | got.practice[no][0] | {"weeks": v.facts.weeks} | of_trees.asked_of(got.own, no)
    brought = got.lines.get(no, [])
    listed = behind.lines(v, brought)
    asked["yield_low"] = any(_below_half(row, middle) for row in trees)
    return {
        "lang": language,
        "labels": labels(language) | {"currency": v.facts.currency},
        "coop": v.facts.name,
        "season": v.facts.season,
        "title": v.say("Coffee statement"),
        "member": {
            "no": no,
            "name": member["name"].translate(_TURNS),
            "village": member["village"].translate(_TURNS),
            "station": v.station(member["station"]),
        },
        "figures": parts.headline(v, no, season),
        "coffee": parts.coffee(v, no, season, got.coffee.get(no, [])),
        "money": of_money.money(v, no, money),
        "apart": of_money.apart(v, no, money),
        "yields": of_trees.beside_expected(
            v, parts.yields(v, no, trees, middle), trees, got.own, no
        ),
        "no_yield": of_trees.no_yield(
            v,
            got.own,
            no,
            v.say("Shown once bearing trees are in the register and coffee is counted."),
        ),
        "record": of_trees.record(v, no, season, got.own, cost),
        "detail": of_costs.in_detail(
            v, no, got.own.margin_of(no), got.own.blocks.get(no, []), got.own.past.get(no, [])
        ),
        "cash": of_costs.cash(v, no, got.own.cash.get(no, [])),
        "advice": parts.advice(v, asked),
        "waiting": parts.waiting(v, got.waiting.get(no, []), got.flags.get(no, []), explain),
        "decisions": parts.decisions(v, got.decisions.get(no, [])),
        "payments": behind.payments(v, money.payments),
        "notes": of_money.loan_notes(v, got.notes.get(no, [])),
        "lines_before": listed[: -behind.MOST_ON_PAGE],
        "lines": listed[-behind.MOST_ON_PAGE :],
        "sheets": behind.sheets(v, brought),
        "wrote": behind.wrote(v, brought),
        "lines_sum": v.figures.money(season["value_minor"]),
        "earlier": behind.earlier(v, brought),
        "sums": {
            "gbe": v.figures.gbe(season["gbe_kg"]) + "\u00a0kg",
            "value": v.figures.cash(season["value_minor"]),
            "deducted": v.figures.cash(season["deducted_minor"]),
            "paid": v.figures.cash(season["paid_minor"]),
        },
        "signed": {
            "kg": str(season["gbe_kg"]),
            "value": _plain(v, season["value_minor"]),
            "balance": _plain(v, season["balance_minor"]),
        },
    }


def _plain(v: Voice, minor: int) -> str:
    """Money as a number that any program reads: 123456 gives 1234.56."""
    return str(Decimal(minor).scaleb(-v.figures.decimals))


def _below_half(row: Row, middle: dict[str, Row]) -> bool:
    half = middle.get(row["species"])
    return (
        half is not None
        and bool(row["gbe_per_tree_kg"])
        and row["gbe_per_tree_kg"] < half["lower_kg"]
    )


def _must_add_up(member_no: str, coffee: list[Row], money: of_money.MemberMoney) -> None:
    """ReportError unless the lines printed add up to the totals printed, to the smallest coin."""
    season = money.season
    added = {
        name: sum(r["amount_minor"] for r in money.added if (r["what"] if r["what"] in
        ("premium", "second") else "other") == name)
        for name in ("premium", "second", "other")
    }  # fmt: skip
    sums = (
        ("value_minor", sum(row["value_minor"] for row in coffee)),
        ("gbe_kg", sum(row["gbe_kg"] for row in coffee)),
        ("deducted_minor", sum(row["amount_minor"] for row in money.deducted)),
        ("paid_minor", sum(row["amount_minor"] for row in money.payments)),
        *((f"{name}_minor", amount) for name, amount in added.items()),
        (
            "balance_minor",
            season["opening_minor"]
            + season["value_minor"]
            + sum(added.values())
            - season["deducted_minor"]
            - season["paid_minor"],
        ),
        *(
            (f"{name}_minor", row[f"{name}_start"] + row[f"{name}_more"] - row[f"{name}_less"])
            for row in [money.apart or of_money.NOTHING_APART]
            for name in ("loan", "shares")
        ),
    )
    for name, whole in sums:
        if season[name] != whole:
            raise ReportError(
                f"member {member_no}: {name} is {season[name]}, but its lines add up to {whole}. "
                "Nothing is issued until they agree: rebuild the season, then look again."
            )


def content_hash(model: Row, *, made_with: str) -> str:
    """SHA-256 of what a statement says and of the code it is made with; hex."""
    text = json.dumps(model, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return sha256((made_with + text).encode()).hexdigest()


def dated(
    model: Row, facts: CoopFacts, *, day: dt.date, version: int, sign: Sign | None = None
) -> Row:
    """The model with its number, date, last day for questions and code: 2026-10427-1."""
    v = voice(model["lang"], facts)
    whom = facts.asked(model["lang"])
    until = day + dt.timedelta(days=facts.questions_days)
    ask = v.say(
        "Tell {whom} until {until}. Name the figure by the small code beside it, and bring "
        "the receipt. The rows behind every figure will be shown to you."
    )
    number = f"{facts.season}-{model['member']['no']}-{version}"
    issue: Row = {
        "number": number,
        "day": v.figures.day(day),
        "iso_day": day.isoformat(),
        "questions": ask.format(whom=whom, until=v.figures.day(until)),
        "until": v.figures.day(until),
        "whom": whom,
        "signature": "",
        "qr": "",
        "genuine": v.say(
            "Signed by the cooperative: the office, or anyone with its public key, can check this."
        ),
    }
    if sign is not None:
        signed = Signed(
            number=number, day=day.isoformat(), name=model["member"]["name"],
            currency=facts.currency, **model["signed"],
        )  # fmt: skip
        issue["signature"] = code(signed, sign)
        issue["qr"] = qr_svg(issue["signature"], v.say("QR code of the signature"))
    return model | {"issue": issue}
