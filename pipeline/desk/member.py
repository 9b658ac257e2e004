"""The member's pages, for a phone: the statement behind a code, why a figure is so, a question."""

from datetime import date, timedelta
from typing import Any

from starlette.responses import FileResponse, Response
from starlette.routing import Route

from pipeline.asking import MOST_LETTERS, lodge, questions_of
from pipeline.book.book import now
from pipeline.desk.issued import issued_page, statement_of
from pipeline.desk.issued_lines import (
    lines_of,
    printed_value,
    same_figure,
    with_asking,
)
from pipeline.desk.pages import NO_PAGE, Asked, Refused, away, environment, route
from pipeline.desk.session import MEMBER
from pipeline.desk.spoken import day_in, member_words, say
from pipeline.errors import AccountError, DecisionError, FigureError
from pipeline.explain.explained import explain_in
from pipeline.explain.in_words import SHOWN_ROWS
from pipeline.intake.found import Cells
from reports.manifest import Statement

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
        return asked.page("code", 401, says=asked.told(str(error)))
    office.log.note(f"member {number}", "opened the statement")
    answer = away("/my")
    office.sessions.start(answer, secure=asked.request.url.scheme == "https", member=number)
    return answer


def my_page(asked: Asked) -> Response:
    """The member's latest statement, as it was issued, every figure a link to its why."""
    page = _page(asked)
    words = member_words(asked.language)
    if page is None:
        return asked.page("no_statement", questions=_questions(asked))
    bar = (
        environment()
        .get_template("my_bar.html.j2")
        .render(
            token=asked.office.sessions.form_token(asked.who),
            questions=_questions(asked),
            w=words,
        )
    )
    text = with_asking(page[1], "/my/ask", words["ask"])
    return issued_page(text, figures="/my/why", before=bar)


def _page(asked: Asked) -> tuple[Statement, str] | None:
    """Return the member's latest statement and the text of its page; None where none is issued."""
    found = statement_of(asked.sight, asked.who.member_no)
    return None if found is None else (found[1], (found[0] / found[1].html).read_text("utf-8"))


def _questions(asked: Asked) -> list[dict[str, Any]]:
    language = asked.language
    words = member_words(language)
    return [
        {
            "text": one.text,
            "figure": one.figure,
            "about": one.about,
            "due": say(words, "answer_by", day_in(one.due, language)),
            "answer": one.answer,
            "by": one.answered_by,
            "on": day_in(one.answered_on, language),
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
            found = explain_in(
                con, one.settings, read, code, most=SHOWN_ROWS, language=asked.language
            )
    except FigureError:
        raise Refused(404, NO_PAGE, "/my") from None
    words = member_words(asked.language)
    return asked.page(
        "why",
        found=found,
        more=say(words, "more_rows", str(found["more"])) if found["more"] else "",
        **_beside_printed(asked, found, words),
        **_question(asked, figure=code),
    )


def _beside_printed(asked: Asked, found: dict[str, Any], words: dict[str, str]) -> dict[str, Any]:
    """Return what the issued statement says of a figure, beside what the book says today."""
    today = f"{found['value']} {found['unit']}"
    told = {"title": found["title"], "issued": "", "printed": "", "differs": False}
    page = _page(asked)
    if page is None or not page[0].number.startswith(f"{found['figure'].partition('/')[0]}-"):
        return told
    statement, text = page
    label, printed = printed_value(
        text, found["figure"], money=found["unit"] == asked.sight.settings.currency
    )
    if not printed:
        said = say(words, "not_printed", statement.number, today)
        return told | {"printed": today, "issued": said}
    on = day_in(date.fromisoformat(statement.day), asked.language)
    same = same_figure(printed, found["plain"], asked.language)
    beside = words["same"] if same else say(words, "differs", today)
    issued = f"{say(words, 'issued', statement.number, on, printed)} {beside}"
    # In other languages the statement's own word for it; English has the longer one.
    title = found["title"] if asked.language == "en" else label or found["title"]
    return told | {"title": title, "printed": printed, "issued": issued, "differs": not same}


def _question(asked: Asked, *, figure: str = "", line: str = "", statement: str = "") -> Any:
    """Return what the form of a question holds, and by when it is answered."""
    due = date.fromisoformat(now()[:10]) + timedelta(days=asked.sight.settings.questions_days)
    within = say(member_words(asked.language), "within", day_in(due, asked.language))
    return {"figure": figure, "line": line, "statement": statement, "within": within}


def ask_page(asked: Asked) -> Response:
    """Where a question is written: about one line of the statement, or about all of it."""
    page, line = _page(asked), asked.query("line")
    about = _about(page, line)
    if line and not about:
        raise Refused(404, NO_PAGE, "/my")
    number = page[0].number if page else ""
    return asked.page("my_ask", about=about, **_question(asked, line=line, statement=number))


def _about(page: tuple[Statement, str] | None, line: str) -> str:
    """Return what a line of the statement says, behind the statement's number."""
    if page is None:
        return ""
    if not line:
        return page[0].number
    said = next((one.says for one in lines_of(page[1]) if str(one.no) == line), "")
    return f"{page[0].number}: {said}" if said else ""


def ask_form(asked: Asked) -> Response:
    """Lodge a question about a figure or a line of one's own."""
    figure, line = asked.text("figure"), asked.text("line")
    words = member_words(asked.language)
    parts = figure.split("/")
    if figure and (len(parts) < 3 or parts[1] != asked.who.member_no):
        raise Refused(404, NO_PAGE, "/my")
    page = _page(asked)
    # A line is known by its place, which is another's once a new statement is issued.
    if line and (page is None or page[0].number != asked.text("statement")):
        raise Refused(409, words["anew"], "/my")
    about = "" if figure else _about(page, line)
    if line and not about:
        raise Refused(404, NO_PAGE, "/my")
    asks = asked.text("question")
    if not asks or len(asks) > MOST_LETTERS:
        raise Refused(422, words["long" if asks else "empty"], "/my")
    try:
        lodge(asked.sight.book, asked.who.member_no, figure, asks, about=about)
    except DecisionError:
        raise Refused(422, words["many"], "/my") from None
    asked.office.desk.look()
    asked.office.log.note(f"member {asked.who.member_no}", "asked a question", figure or about)
    return away("/my")


ROUTES: list[Route] = [
    route("/my/code", code_page, ()),
    route("/my/code", code_form, (), post=True),
    route("/m/{code}", code_link, ()),
    route("/my", my_page, OWN),
    route("/my/print", my_print, OWN),
    route("/my/why/{figure:path}", why_page, OWN),
    route("/my/ask", ask_page, OWN),
    route("/my/ask", ask_form, OWN, post=True),
]
