"""The office's pages about members: their codes, and their questions."""

from markupsafe import Markup
from starlette.responses import Response
from starlette.routing import Route

from pipeline.asking import answer, questions_of
from pipeline.book.book import now
from pipeline.desk import say
from pipeline.desk.pages import Asked, Refused, away, route
from reports.genuine import qr_svg


def codes_page(asked: Asked) -> Response:
    """Who has a code, and where one is made."""
    one = asked.sight.generation()
    wanted = asked.query("find").casefold()
    coded = asked.office.accounts.coded()
    found = one.ask("members_found", wanted=wanted) if one and wanted else []
    return asked.page(
        "codes",
        find=asked.query("find"),
        lines=[row | {"coded": row["member_no"] in coded} for row in found],
        count=say.plain(len(coded)),
        made=None,
    )


def code_form(asked: Asked) -> Response:
    """Make a member's code and show it once, with its QR code, to be printed or copied."""
    number, one = asked.text("member_no"), asked.sight.generation()
    known = one.ask("member_known", member=number) if one else []
    if not known:
        raise Refused(404, "No member has that number. Look in the members' sheet.", "/codes")
    accounts, who = asked.office.accounts, asked.who.name
    if asked.text("action") == "end":
        accounts.end_code(number)
        asked.office.log.note(who, "ended the code of member", number)
        return away("/codes")
    proxy = asked.text("proxy")
    if proxy and not asked.text("consent"):
        raise Refused(
            422, "A proxy needs the member's consent: say that you have seen it.", "/codes"
        )
    code = accounts.member_code(number, by=who, at=now(), proxy=proxy)
    what = f"{number}, for {proxy}, consent seen" if proxy else number
    asked.office.log.note(who, "made a code for member", what)
    link = f"{asked.request.base_url}m/{code}"
    return asked.page(
        "codes",
        find="",
        lines=[],
        count=say.plain(len(accounts.coded())),
        made={
            "name": known[0]["name"],
            "member_no": number,
            "proxy": proxy,
            "code": code,
            "link": link,
            "qr": Markup(qr_svg(link, asked.words["qr"])),
        },
    )


def questions_page(asked: Asked) -> Response:
    """Members' questions: those that wait first, by the day they are due."""
    found = questions_of(asked.sight.journal)
    waiting = sorted((one for one in found if not one.answer), key=lambda one: (one.due, one.no))
    answered = [one for one in reversed(found) if one.answer]
    return asked.page(
        "questions",
        waiting=[(one, one.late(asked.sight.today)) for one in waiting[:60]],
        answered=answered[:40],
        may_answer=asked.who.is_any("clerk", "manager"),
    )


def answer_form(asked: Asked) -> Response:
    """Answer a question; the answer is kept and shown to the member."""
    number = asked.path("number")
    if not number.isdecimal():
        raise Refused(404, "There is no such question.", "/questions")
    answer(asked.sight.book, int(number), asked.text("answer"), by=asked.who.name)
    asked.office.desk.look()
    asked.office.log.note(asked.who.name, "answered question", number)
    return away("/questions")


ROUTES: list[Route] = [
    route("/codes", codes_page, ("clerk", "manager")),
    route("/codes", code_form, ("clerk", "manager"), post=True),
    route("/questions", questions_page, ("clerk", "manager", "auditor")),
    route("/questions/{number}", answer_form, ("clerk", "manager"), post=True),
]
