"""Payment lists at the desk: what is owed now, put forward to a second person; and lists made."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from starlette.responses import FileResponse, Response
from starlette.routing import Route

from pipeline.book.book import now
from pipeline.desk import say
from pipeline.desk.desk import Sight
from pipeline.desk.generation import Generation
from pipeline.desk.pages import NO_PAGE, Asked, Refused, away, route
from pipeline.paying import METHODS, payment_list
from pipeline.proposals import LIST, WITHDRAWAL, propose

LOOK = ("manager", "treasurer", "chair", "auditor")
DO = ("manager", "treasurer", "chair")
LEFT_OUT = 60


def pay_page(asked: Asked) -> Response:
    """What could be paid now, by how members are paid; and the lists that were made."""
    one = _generation(asked)
    ways = [
        {"method": method, **list_summary(asked.sight, one.season, [method])} for method in METHODS
    ]
    would = list_summary(asked.sight, one.season, METHODS)
    return asked.page(
        "pay",
        code=one.season,
        ways=ways,
        left_out=would["left_out"],
        accounts_waiting=would["accounts_waiting"],
        lists=_lists(asked.sight),
        may=asked.who.is_any(*DO),
    )


def _generation(asked: Asked) -> Generation:
    one = asked.sight.generation(asked.query("season"))
    if one is None:
        raise Refused(404, "Nothing is worked out yet. Send the registers and sheets.", "/sheets")
    return one


def list_summary(sight: Sight, season: str, methods: Sequence[str]) -> dict[str, Any]:
    """Return how many payments a list made now would hold, what they come to, and who is left out.

    Worked out once for a season file and a state of the journal.
    """
    one = sight.generation(season)
    if one is None:
        raise Refused(404, "Nothing is worked out for that season.", "/pay")
    listed = [line.n for line in sight.journal.lines if line.what in ("listed", "list-withdrawn")]

    def found(_: object) -> dict[Any, Any]:
        day = date.fromisoformat(now()[:10])
        made = payment_list(sight.book, sight.journal, sight.settings, season, day, methods)
        return {
            "count": say.plain(len(made.payees)),
            "sum": say.money(made.sum_minor, sight.settings),
            "digest": made.digest,
            "left_out": made.left_out[:LEFT_OUT],
            "accounts_waiting": made.accounts_waiting[:LEFT_OUT],
        }

    return one.remembered(f"payment list {sorted(methods)} {listed[-1:]}", found)


def _lists(sight: Sight) -> list[dict[str, Any]]:
    gone = {
        line.body["list"]: line for line in sight.journal.lines if line.what == "list-withdrawn"
    }
    return [
        {
            "list": line.body["list"],
            "on": line.at[:10],
            "count": say.plain(line.body["count"]),
            "sum": say.money(line.body["sum_minor"], sight.settings),
            "by": line.body["by"],
            "second": line.body["second"],
            "files": sorted(line.body["files"]),
            "withdrawn": gone[line.body["list"]].body["because"]
            if line.body["list"] in gone
            else "",
        }
        for line in reversed(sight.journal.lines)
        if line.what == "listed"
    ][:20]


def pay_form(asked: Asked) -> Response:
    """Put a payment list forward, or the withdrawal of one: a second person signs it."""
    book, who = asked.sight.book, asked.who.name
    if asked.text("list"):
        body = {"list": asked.text("list"), "because": asked.text("because")}
        if not body["because"]:
            raise Refused(422, "A withdrawal needs a reason.", "/pay")
        made = propose(book, WITHDRAWAL, body, by=who)
    else:
        one = _generation(asked)
        methods = [str(m) for m in asked.form.getlist("method") if m in METHODS]
        if not methods:
            raise Refused(422, "Choose how the members are paid: cash, bank, mobile.", "/pay")
        if list_summary(asked.sight, one.season, methods)["count"] == "0":
            raise Refused(422, "Nothing is owed that can be paid so now.", "/pay")
        made = propose(book, LIST, {"season": one.season, "methods": methods}, by=who)
    asked.office.desk.look()
    asked.office.log.note(who, f"put forward: {made.of}", str(made.no))
    return away(f"/sign/{made.no}")


def list_file(asked: Asked) -> Response:
    """A file of a payment list that was made."""
    wanted = (asked.path("list"), asked.path("name"))
    for line in asked.sight.journal.lines:
        if line.what == "listed" and line.body["list"] == wanted[0]:
            path = asked.sight.book.path / "payments" / wanted[0] / wanted[1]
            if wanted[1] in line.body["files"] and path.is_file():
                asked.office.log.note(asked.who.name, "took a file", "/".join(wanted))
                return FileResponse(path, filename=f"{wanted[0]}_{wanted[1]}")
    raise Refused(404, NO_PAGE, "/pay")


ROUTES: list[Route] = [
    route("/pay", pay_page, LOOK),
    route("/pay", pay_form, DO, post=True),
    route("/pay/{list}/{name}", list_file, LOOK),
]
