"""What is still awaited: questions to stations, and the sheets of a week that are not in yet."""

from datetime import date, timedelta
from typing import Any

from starlette.responses import Response
from starlette.routing import Route

from pipeline.desk import say
from pipeline.desk.desk import Sight
from pipeline.desk.pages import Asked, route
from pipeline.intake.kinds import kinds

# A station that sent a kind in so many of the weeks before is expected to send it again.
LOOKED_BACK = 4


def awaited_page(asked: Asked) -> Response:
    """Questions that wait for an answer, and by station the sheets that are awaited this week."""
    sight = asked.sight
    questions = [
        {
            "short": one.short,
            "flag": one.flag,
            "station": one.station,
            "place": one.place,
            "question": one.question,
            "by": one.by,
            "due": say.day(one.due),
            "late": one.overdue(sight.today),
        }
        for one in sight.awaited()
        if asked.who.sees(one.station)
    ]
    week = asked.query("week") or latest_week(sight)
    return asked.page(
        "awaited",
        questions=questions,
        week=week,
        before=week_before(week) if week else "",
        stations=[
            one | {"kinds": [(kinds()[k].titles[asked.language], here) for k, here in one["kinds"]]}
            for one in expected(sight, week)
            if asked.who.sees(one["code"])
        ],
        may_see_flags=asked.who.is_any("manager", "auditor"),
    )


def latest_week(sight: Sight) -> str:
    """Return the latest week that any sheet speaks for, "" before the first."""
    one = sight.generation()
    sheets = one.sheets.values() if one else ()
    weeks = {str(sheet["week"]) for sheet in sheets if sheet["week"]}
    return max((week.rpartition("..")[2] for week in weeks), default="")


def week_before(week: str) -> str:
    """Return the ISO week before one: 2026-W01 follows 2025-W52."""
    try:
        monday = date.fromisoformat(f"{week}-1") - timedelta(weeks=1)
    except ValueError:
        return ""
    year, number, _ = monday.isocalendar()
    return f"{year}-W{number:02d}"


def expected(sight: Sight, week: str) -> list[dict[str, Any]]:
    """Return by station what came in for a week, and what came in the weeks before but not now."""
    one = sight.generation()
    if one is None:
        return []
    named = {station.code: station.name for station in sight.settings.stations}
    return one.remembered(
        f"expected {week} {hash(frozenset(named.items()))}",
        lambda _: {"": _expected(list(one.sheets.values()), named, week)},
    )[""]


def _expected(
    sheets: list[dict[str, Any]], named: dict[str, str], week: str
) -> list[dict[str, Any]]:
    recent: list[str] = []
    for _ in range(LOOKED_BACK):
        recent.append(week_before(recent[-1] if recent else week))
    by_station: dict[str, list[dict[str, Any]]] = {}
    for sheet in sheets:
        if sheet["kind"]:
            by_station.setdefault(sheet["station"] or "", []).append(sheet)
    found: list[dict[str, Any]] = []
    for code, name in named.items():
        own = by_station.get(code, [])
        here = {s["kind"] for s in own if s["week"] == week}
        usual = {s["kind"] for s in own if s["week"] in recent}
        listed = [kind for kind in kinds() if kind in here | usual]
        found.append(
            {
                "code": code,
                "name": name,
                "kinds": [(kind, kind in here) for kind in listed],
            }
        )
    return found


ROUTES: list[Route] = [route("/awaited", awaited_page, ("clerk", "manager", "auditor"))]
