"""The evidence about one flag as its page shows it: figures as text, the member's past drawn."""

from typing import Any

from pipeline.desk import say
from pipeline.desk.chart import Point, past_chart
from pipeline.explain.evidence import Evidence, Past


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
