"""The member's pages, for a phone: the statement behind a code, why a figure is so, a question."""

from typing import Any

from starlette.responses import FileResponse, Response
from starlette.routing import Route

from pipeline.asking import lodge, questions_of
from pipeline.desk import say
from pipeline.desk.issued import issued_page, statement_of
from pipeline.desk.pages import NO_PAGE, Asked, Refused, away, environment, route
from pipeline.desk.session import MEMBER
from pipeline.errors import AccountError, FigureError
from pipeline.explain.why import SHOWN_ROWS, decision_words, explain_in
from pipeline.intake.found import Cells

OWN = (MEMBER,)


def code_page(asked: Asked) -> Response:
    """Where the code is typed."""
    return asked.page("code", says="")


def code_form(asked: Asked) -> Response:
    """Open the statement that a typed code is for."""
    return _opened(asked, asked.text("code"))


def code_link(asked: Asked) -> Response:
    """The page behind a link or a QR code: one press opens the statement."""
    # A page, not the statement at once: a link that is looked at beforehand opens nothing.
    return asked.page("code_link", code=asked.path("code")[:40])


def _opened(asked: Asked, code: str) -> Response:
    office = asked.office
    try:
        number = office.accounts.member_of(code, asked.address)
    except AccountError as error:
        office.log.note("somebody", "typed a wrong code", asked.address)
        return asked.page("code", 401, says=str(error))
    office.log.note(f"member {number}", "opened the statement")
    answer = away("/my")
    office.sessions.start(answer, secure=asked.request.url.scheme == "https", member=number)
    return answer


def my_page(asked: Asked) -> Response:
    """The member's latest statement, as it was issued, every figure a link to its why."""
    found = statement_of(asked.sight, asked.who.member_no)
    if found is None:
        return asked.page("no_statement", questions=_questions(asked))
    text = (found[0] / found[1].html).read_text("utf-8")
    bar = (
        environment()
        .get_template("my_bar.html.j2")
        .render(token=asked.office.sessions.form_token(asked.who), questions=_questions(asked))
    )
    return issued_page(text, figures="/my/why", before=bar)


def _questions(asked: Asked) -> list[dict[str, Any]]:
    return [
        {
            "no": one.no,
            "figure": one.figure,
            "text": one.text,
            "due": say.day(one.due),
            "answer": one.answer,
            "by": one.answered_by,
            "on": say.day(one.answered_on),
        }
        for one in reversed(questions_of(asked.sight.journal, asked.who.member_no))
    ]


def my_print(asked: Asked) -> Response:
    """The statement as issued, to print."""
    found = statement_of(asked.sight, asked.who.member_no)
    if found is None:
        raise Refused(404, NO_PAGE, "/my")
    return FileResponse(found[0] / found[1].pdf, filename=f"{found[1].number}.pdf")


def why_page(asked: Asked) -> Response:
    """Where one of the member's own figures comes from, and a question about it."""
    code = asked.path("figure")
    parts = code.split("/")
    # Of another member's figure nothing is told, not even whether there is one.
    if len(parts) < 3 or parts[1] != asked.who.member_no:
        raise Refused(404, NO_PAGE, "/my")
    one = asked.sight.generations.get(parts[0])
    if one is None:
        raise Refused(404, NO_PAGE, "/my")

    def read(sha256: str, part: str) -> Cells | None:
        return asked.office.sheets.cells(sha256, part, one.settings)

    try:
        with one.formulas() as con:
            found = explain_in(con, one.settings, read, code, most=SHOWN_ROWS)
    except FigureError:
        raise Refused(404, NO_PAGE, "/my") from None
    rows = [
        row | {"decided": [decision_words(one) for one in row.get("decisions", [])]}
        for row in found["rows"]
    ]
    return asked.page(
        "why",
        found=found,
        rows=rows,
        more=found["more"],
        days=asked.sight.settings.questions_days,
    )


def ask_form(asked: Asked) -> Response:
    """Lodge a question about a figure of one's own."""
    figure = asked.text("figure")
    parts = figure.split("/")
    if figure and (len(parts) < 3 or parts[1] != asked.who.member_no):
        raise Refused(404, NO_PAGE, "/my")
    lodge(asked.sight.book, asked.who.member_no, figure, asked.text("question"))
    asked.office.desk.look()
    asked.office.log.note(f"member {asked.who.member_no}", "asked a question", figure)
    return away("/my")


ROUTES: list[Route] = [
    route("/my/code", code_page, ()),
    route("/my/code", code_form, (), post=True),
    route("/m/{code}", code_link, ()),
    route("/my", my_page, OWN),
    route("/my/print", my_print, OWN),
    route("/my/why/{figure:path}", why_page, OWN),
    route("/my/ask", ask_form, OWN, post=True),
]
