"""The page of checks made before anything is issued or paid."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any, TypedDict

from reports import render
from reports.facts import CoopFacts, Row
from reports.figures import Figures
from reports.words import catalogue


class Check(TypedDict):
    """One check: what was looked at, what was seen, what is allowed, and whether it holds."""

    name: str
    looked_at: str
    observed: str
    allowed: str
    ok: bool
    detail: str


def gate_model(
    facts: CoopFacts, gate: Sequence[Check], *, day: dt.date, language: str = "en"
) -> Row:
    """The view model of the page: those that fail first, then those that hold."""
    say = catalogue(language).gettext
    figures = Figures(language, facts.currency, facts.decimals)
    failing = [dict(check) for check in gate if not check["ok"]]
    holding = [dict(check) for check in gate if check["ok"]]
    verdict = (
        say("{n} of {all} checks fail. What each stops is said beside it.")
        if failing
        else say("All {all} checks hold.")
        if gate
        else say("No check was made.")
    )
    return {
        "lang": language,
        "title": say("Checks before issue"),
        "coop": facts.name,
        "season": say("Season") + f" {facts.season}",
        "day": figures.day(day),
        "verdict": verdict.format(n=figures.count(len(failing)), all=figures.count(len(gate))),
        "parts": [
            part
            for part in (
                {"title": say("Failing"), "checks": failing},
                {"title": say("Holding"), "checks": holding},
            )
            if part["checks"]
        ],
        "words": {
            "name": say("Check"),
            "looked_at": say("Looked at"),
            "observed": say("Found"),
            "allowed": say("Allowed"),
        },
    }


def gate_page(facts: CoopFacts, gate: Sequence[Check], *, day: dt.date, **kept: Any) -> bytes:
    """The page as UTF-8 HTML."""
    return render.page("gate", gate_model(facts, gate, day=day, **kept))
