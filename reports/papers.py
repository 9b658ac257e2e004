"""Papers of headings, sentences and tables: the cash pay sheet and the pack for the assembly."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from reports import render
from reports.facts import CoopFacts, Row
from reports.figures import Figures
from reports.words import catalogue, spoken


def section(title: str, says: Sequence[str] = (), table: Row | None = None) -> Row:
    """One part of a paper: its heading, sentences, and a table or none."""
    return {"title": title, "says": [say for say in says if say], "table": table}


def grid(
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    text: int = 1,
    total: Sequence[str] = (),
    tall: bool = False,
) -> Row:
    """A table of strings; `text`: leading text columns; `tall`: rows to sign in."""
    return {
        "heads": list(heads),
        "rows": [list(row) for row in rows],
        "text": text,
        "sum": list(total),
        "tall": tall,
    }


def paper(facts: CoopFacts, title: str, day: dt.date, sections: Sequence[Row]) -> bytes:
    """Draw a paper as a tagged PDF; ReportError where a letter cannot be shown."""
    language = spoken(None, facts.languages)
    figures = Figures(language, facts.currency, facts.decimals)
    model = {
        "lang": language,
        "title": title,
        "coop": facts.name,
        "season": f"{catalogue(language).gettext('Season')} {facts.season}",
        "day": figures.day(day),
        "iso_day": day.isoformat(),
        "sections": list(sections),
    }
    return render.pdf("papers", model, day=day, subject=title)


def pay_sheet(facts: CoopFacts, list_no: str, day: dt.date, payees: Sequence[Row]) -> bytes:
    """The sheet that members sign or put a thumb to when they are paid in cash, by station.

    `payees`: payment_no, member_no, name, village, station, amount_minor, carried_minor.
    """
    language = spoken(None, facts.languages)
    say = catalogue(language).gettext
    f = Figures(language, facts.currency, facts.decimals)
    stations: dict[str, list[Row]] = {}
    for payee in payees:
        stations.setdefault(payee["station"], []).append(payee)
    heads = [say("Payment"), say("Member"), say("Amount"), say("Stays owed"),
             say("Signature or thumbprint")]  # fmt: skip
    parts = [
        section(
            facts.stations.get(station, station),
            [
                say("{n} payments, {total} together. Count the money before you sign.").format(
                    n=f.count(len(paid)), total=f.cash(sum(p["amount_minor"] for p in paid))
                )
            ],
            grid(heads, [_to_sign(f, payee) for payee in paid], text=2, tall=True),
        )
        for station, paid in stations.items()
    ]
    by = say("Paid out by (name, signature, day)")
    absent = say("Who was not there is not paid: cross the line out, and take the money back.")
    parts.append(section(say("Afterwards"), [absent, f"{by}: ____________________"]))
    return paper(facts, say("Cash pay sheet") + f" {list_no}", day, parts)


def _to_sign(f: Figures, payee: Row) -> list[str]:
    who = f"{payee['member_no']} {payee['name']}, {payee['village']}"
    sums = [f.money(payee[name]) for name in ("amount_minor", "carried_minor")]
    return [payee["payment_no"], who, *sums, ""]
