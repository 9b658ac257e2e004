"""What takes a second person: the second payment's preview, and the page on which both sign."""

import hashlib
from typing import Any

from starlette.datastructures import UploadFile
from starlette.responses import Response
from starlette.routing import Route

from pipeline.desk import say
from pipeline.desk.desk import Sight
from pipeline.desk.generation import Generation
from pipeline.desk.pages import Asked, Refused, away, route
from pipeline.desk.paying import list_summary
from pipeline.errors import DecisionError
from pipeline.proposals import (
    AMENDMENT,
    LIST,
    SECOND,
    SIGNED,
    WAITING,
    WITHDRAWAL,
    Proposal,
    decline,
    proposals,
    propose,
    sign,
)
from pipeline.second import Preview, preview

LOOK = ("manager", "treasurer", "chair", "auditor")
DO = ("manager", "treasurer", "chair")
PAGE = 40
MOST_PLAN_BYTES = 64_000


def second_page(asked: Asked) -> Response:
    """Where the plan of a second payment comes in, and those that were put forward."""
    return asked.page(
        "second",
        before=[_line(one) for one in reversed(proposals(asked.sight.journal)) if one.of == SECOND][
            :20
        ],
        may=asked.who.is_any(*DO),
    )


def second_form(asked: Asked) -> Response:
    """Work the plan out, and put it forward where it holds: nothing is posted yet."""
    one = _generation(asked)
    sent = asked.form.get("plan")
    content = sent.file.read(MOST_PLAN_BYTES + 1) if isinstance(sent, UploadFile) else b""
    try:
        plan = content.decode() if content else asked.text("text").replace("\r\n", "\n")
    except UnicodeDecodeError:
        raise Refused(422, "The plan is no text. Send the TOML file.", "/second") from None
    if not plan or len(content) > MOST_PLAN_BYTES:
        raise Refused(422, "No plan came along, or it is too large. Choose its file.", "/second")
    preview(asked.sight.book, one.season, plan)
    body = {"season": one.season, "plan": plan}
    made = propose(asked.sight.book, SECOND, body, by=asked.who.name)
    asked.office.desk.look()
    asked.office.log.note(asked.who.name, "put a second payment forward", str(made.no))
    return away(f"/sign/{made.no}")


def _generation(asked: Asked) -> Generation:
    one = asked.sight.generation(asked.query("season"))
    if one is None:
        raise Refused(404, "Nothing is worked out yet. Send the registers and sheets.", "/sheets")
    return one


def list_page(asked: Asked) -> Response:
    """What waits for a second person, and what was answered last."""
    found = proposals(asked.sight.journal)
    return asked.page(
        "sign_list",
        waiting=[_line(one) for one in found if one.state == WAITING],
        answered=[_line(one) for one in reversed(found) if one.state != WAITING][:40],
    )


def _line(one: Proposal) -> dict[str, Any]:
    return {
        "no": one.no,
        "of": one.of,
        "by": one.by,
        "on": say.day(one.on),
        "state": one.state,
        "second": one.second,
        "answered_on": say.day(one.answered_on),
        "because": one.because,
    }


def sign_page(asked: Asked) -> Response:
    """One proposal with all that the second person has to look at."""
    one = _proposal(asked)
    own = one.by.casefold() == asked.who.name.casefold()
    shown = _shown(asked, one)
    return asked.page(
        "sign",
        one=_line(one),
        own=own,
        may=asked.who.is_any(*DO) and one.state == WAITING,
        signed=one.state == SIGNED,
        **shown,
    )


def _proposal(asked: Asked) -> Proposal:
    number = asked.path("number")
    found = [one for one in proposals(asked.sight.journal) if str(one.no) == number]
    if not found:
        raise Refused(404, f"Nothing was put forward under number {number[:12]}.", "/sign")
    return found[0]


def _shown(asked: Asked, one: Proposal) -> dict[str, Any]:
    """Return what a proposal comes to, as the page prints it.

    `figures` is what is signed for; `seen` the digest of the payment list that they are of.
    """
    empty: dict[str, Any] = {
        "figures": "", "facts": [], "pools": [], "shares": [], "excluded": [],
        "earlier": None, "later": None, "of": "", "seen": "",
    }  # fmt: skip
    if one.of == SECOND:
        return empty | _second(asked, one)
    if one.of == LIST:
        found = list_summary(asked.sight, one.body["season"], one.body["methods"])
        facts = [("Payments", found["count"]), ("Together", found["sum"])]
        # What was paid since is no longer owed: the list as it was made stands with the lists.
        return empty | {"facts": facts if one.state == WAITING else [],
                        "figures": f"{found['count']} payments, {found['sum']}",
                        "seen": found["digest"]}  # fmt: skip
    if one.of == WITHDRAWAL:
        said = one.body["list"]
        return empty | {"facts": [("List", said), ("Because", one.body["because"])],
                        "figures": said}  # fmt: skip
    return empty | _amendment(asked.sight, one)


def _amendment(sight: Sight, one: Proposal) -> dict[str, Any]:
    number = one.body["flags"][0]
    facts = [("New value", one.body["value"]), ("Reason", one.body["because"])]
    try:
        found, full = sight.find(number)
        flag = found.told([full])[0]
        facts = [("Cell", flag.place), ("Doubt", flag.say), *facts]
    except DecisionError as gone:
        facts = [("Row", str(gone)), *facts]
    return {"facts": facts, "figures": f"{number[:8]} to {one.body['value']}"}


def _second(asked: Asked, one: Proposal) -> dict[str, Any]:
    sight, settings = asked.sight, asked.sight.settings
    found = _worked(sight, one)
    start = int(asked.query("from")) if asked.query("from").isdecimal() else 0
    start = min(start, max(0, len(found.shares) - 1))
    pools = [
        {
            "code": pool.code,
            "how": pool.how,
            "kg": say.kg(pool.kg),
            "lines": [
                ("Proceeds", say.money(pool.proceeds_minor, settings)),
                ("Last season's stock, sold now", say.money(pool.last_stock_minor, settings)),
                *((f"less {name}", say.money(minor, settings)) for name, minor in pool.costs),
                ("less finance interest", say.money(pool.interest_minor, settings)),
                ("less premiums voted apart", say.money(pool.apart_minor, settings)),
                ("less first payment", say.money(pool.first_payment_minor, settings)),
                ("Left to share", say.money(pool.available_minor, settings)),
                ("Shared now", say.money(pool.shared_minor, settings)),
                ("To reserve", say.money(pool.reserve_minor, settings)),
                ("Coffee without a share", say.kg(pool.excluded_kg)),
                ("Unsold stock", say.kg(pool.unsold_kg)),
                *(
                    [("Unsold stock as valued, in no sum", say.money(pool.unsold_minor, settings))]
                    if pool.unsold_minor is not None
                    else []
                ),
            ],
        }
        for pool in found.pools
    ]
    shared = say.money(sum(pool.shared_minor for pool in found.pools), settings)
    return {
        "facts": [
            ("Resolution", f"{found.resolution_no} of {found.resolution_on}"),
            ("Owed from", say.day(found.owed_from)),
            ("Shares", say.plain(len(found.shares))),
            ("Together", shared),
        ],
        "figures": f"{say.plain(len(found.shares))} shares, {shared}",
        "pools": pools,
        "shares": found.shares[start : start + PAGE],
        "excluded": found.excluded[:PAGE],
        "of": f"{start + 1} to {min(start + PAGE, len(found.shares))} of {len(found.shares)}",
        "earlier": max(0, start - PAGE) if start else None,
        "later": start + PAGE if start + PAGE < len(found.shares) else None,
    }


def _worked(sight: Sight, one: Proposal) -> Preview:
    """Work a plan out once a generation: each page of its members shows the same."""
    season, plan = one.body["season"], one.body["plan"]
    held = sight.generation(season)
    if held is None:
        raise Refused(404, "Nothing is worked out for that season.", "/sign")
    digest = hashlib.sha256(plan.encode()).hexdigest()
    posted = one.state == SIGNED
    return held.remembered(
        f"second payment {digest} {posted}",
        lambda _: {"": preview(sight.book, season, plan, posted=posted)},
    )[""]


def sign_form(asked: Asked) -> Response:
    """Sign what was put forward, which does it; or decline it with a reason."""
    one, who = _proposal(asked), asked.who.name
    here = f"/sign/{one.no}"
    if asked.text("action") == "decline":
        decline(asked.sight.book, one.no, because=asked.text("because"), by=who)
        asked.office.log.note(who, f"declined: {one.of}", str(one.no))
    else:
        if not asked.text("sure"):
            raise Refused(422, "Nothing is signed. Say that you have looked at it first.", here)
        shown = _shown(asked, one)
        if asked.text("figures") != f"{shown['figures']}{shown['seen']}":
            raise Refused(409, "The figures changed since you looked. Look again, then sign.", here)
        sign(asked.sight.book, one.no, by=who, seen=shown["seen"])
        asked.office.log.note(who, f"signed: {one.of}", str(one.no))
        if one.of == AMENDMENT:
            asked.office.work.apply()
    asked.office.desk.look()
    return away(here)


ROUTES: list[Route] = [
    route("/second", second_page, LOOK),
    route("/second", second_form, DO, post=True),
    route("/sign", list_page, LOOK),
    route("/sign/{number}", sign_page, LOOK),
    route("/sign/{number}", sign_form, DO, post=True),
]
