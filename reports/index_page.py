"""The page that leads to every document of an issue."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping, Sequence

from reports import render
from reports.facts import CoopFacts, Row
from reports.figures import Figures
from reports.manifest import Statement, file_name
from reports.words import catalogue, spoken


def _links(entry: Statement) -> Row:
    return {"no": entry.member_no, "name": entry.name, "html": entry.html, "pdf": entry.pdf,
            "txt": entry.txt}  # fmt: skip


def index_page(
    facts: CoopFacts,
    day: dt.date,
    villages: Mapping[str, Sequence[Statement]],
    files: Collection[str],
) -> bytes:
    """The page as UTF-8 HTML; a print file is named where it is among `files`."""
    language = spoken(None, facts.languages)
    say = catalogue(language).gettext
    group = say("Group report")
    prints = {name: f"print/{file_name(name)}.pdf" for name in villages}
    model = {
        "lang": language,
        "title": say("Documents of season") + f" {facts.season}",
        "coop": facts.name,
        "day": Figures(language, facts.currency, facts.decimals).day(day),
        "documents": [
            {"href": "group/group_report.html", "label": group},
            {"href": "group/group_report.pdf", "label": f"{group}, PDF"},
            {"href": "gate.html", "label": say("Checks before issue")},
        ],
        "villages": [
            {
                "name": name,
                "members": [_links(entry) for entry in listed],
                "print": prints[name] if prints[name] in files else "",
            }
            for name, listed in villages.items()
        ],
        "words": {
            "member": say("Member"),
            "name": say("Name"),
            "statement": say("Statement"),
            "page": say("page"),
            "aloud": say("to read aloud"),
            "print": say("All statements of the village, to print"),
        },
    }
    return render.page("index", model)
