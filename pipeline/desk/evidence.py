"""The evidence about one flag as its page shows it: figures as text, the member's past drawn."""

from collections.abc import Mapping
from typing import Any

from checks.rules import BY_CODE
from pipeline.book.journal import Line
from pipeline.desk import say
from pipeline.desk.chart import Point, past_chart
from pipeline.explain.evidence import Evidence, Past
from pipeline.raises import ACCOUNT_RULES

ACTION_WORDS = {"count": "counted as it is", "amend": "amended", "leave-out": "left out"}


def shown(found: Evidence) -> dict[str, Any]:
    """Return what the page of a flag shows of its evidence."""
    return {
        "headings": found.headings,
        "around": found.around,
        "past": _past(found.past) if found.past else None,
        "peers": found.peers,
        "limits": [
            {
                "name": limit.name.replace("_", " "),
                "value": say.plain(limit.value),
                "unit": limit.unit,
                "source": limit.source,
            }
            for limit in found.limits
        ],
        "source": found.source,
    }


def _past(past: Past) -> dict[str, Any]:
    points = [
        Point(
            on=one.day,
            amount=one.net_kg,
            here=one.here,
            counted=one.state == "counted",
        )
        for one in past.weighings
    ]
    return {
        "name": past.name,
        "member_no": past.member_no,
        "words": past.words,
        "chart": past_chart(points),
    }


def decision_shown(line: Line, one: Mapping[str, Any]) -> dict[str, str]:
    """Return a decision on one flag, of a line of the journal, as pages show it."""
    did = ACTION_WORDS[one["action"]]
    if "new_value" in one:
        did += f' to "{one["new_value"]}"'
    elif one["rule"] in ACCOUNT_RULES and one["action"] == "leave-out":
        # The row itself counts: only its account does not.
        did = "not this account"
    return {
        "short": f"{one['flag'][:4]}-{one['flag'][4:8]}".upper(),
        "flag": one["flag"],
        "did": did,
        "by": one["by"],
        "on": line.at[:10],
        "because": one["because"],
        "rule": BY_CODE[one["rule"]].title if one["rule"] in BY_CODE else "",
        "row": str(one["row_no"]),
        "sheet_no": str(one["sheet_no"]),
    }
