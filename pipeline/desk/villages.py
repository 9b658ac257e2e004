"""The trainer's pages: visits, training and first yields by village and by member. No money."""

from typing import Any

from starlette.responses import Response
from starlette.routing import Route

from pipeline.desk import say
from pipeline.desk.pages import NO_PAGE, Asked, Refused, route

LOOK = ("trainer", "manager", "auditor")
PAGE = 100


def villages_page(asked: Asked) -> Response:
    """Every village of the season."""
    one = asked.sight.generation()
    found = one.totals.villages if one else []
    return asked.page("villages", lines=[_village(row) for row in found])


def _village(row: dict[str, Any]) -> dict[str, str]:
    return {
        "name": row["village"] or "",
        "members": say.plain(row["members"]),
        "visited": f"{say.plain(row['visited'])} of {say.plain(row['members'])}",
        "last_visit": say.day(row["last_visit"]),
        "trained": f"{say.plain(row['trained'])} of {say.plain(row['members'])}",
        "last_training": say.day(row["last_training"]),
        "arabica": say.plain(row["arabica"]),
        "robusta": say.plain(row["robusta"]),
    }


def village_page(asked: Asked) -> Response:
    """The members of a village: those not visited for longest first."""
    one, name = asked.sight.generation(), asked.path("name")
    found = one.ask("village_members", village=name) if one else []
    if not found:
        raise Refused(404, NO_PAGE, "/villages")
    return asked.page(
        "village",
        name=name,
        count=say.plain(len(found)),
        cut=len(found) > PAGE,
        lines=[
            {
                "member_no": row["member_no"],
                "name": row["name"],
                "last_visit": say.day(row["last_visit"]),
                "finding": row["finding"] or "",
                "agreed": row["agreed"] or "",
                "follow_up": say.day(row["follow_up"]),
                "late": bool(row["follow_up"] and row["follow_up"] < asked.sight.today),
                "topics": row["topics"] or "",
                "trees": say.plain(row["trees_bearing"]),
                "yield": say.plain(row["per_tree"]),
            }
            for row in found[:PAGE]
        ],
    )


ROUTES: list[Route] = [
    route("/villages", villages_page, LOOK),
    route("/village/{name:path}", village_page, LOOK),
]
