"""How a page is answered: who may see it, the template, and a sentence for an error."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from pipeline.desk.accounts import Accounts
from pipeline.desk.desk import Desk, Sight
from pipeline.desk.log import Log
from pipeline.desk.session import MEMBER, Sessions, Who
from pipeline.desk.spoken import member_words, page_words, say, spoken
from pipeline.desk.work import Work
from pipeline.errors import WeighbookError
from pipeline.explain.sheets import SheetReader

HERE = Path(__file__).parent
STAFF = ("clerk", "manager", "treasurer", "chair", "trainer", "auditor")


class Refused(Exception):
    """A page that is not answered: status, what is wrong, and where the way back leads."""

    def __init__(self, status: int, says: str, back: str = "/") -> None:
        super().__init__(says)
        self.status = status
        self.says = says
        self.back = back


@dataclass(frozen=True, slots=True, kw_only=True)
class Office:
    """All that pages need, made once at the start."""

    desk: Desk
    accounts: Accounts
    sessions: Sessions
    work: Work
    log: Log
    sheets: SheetReader


@dataclass(slots=True, kw_only=True)
class Asked:
    """One request: what was asked, who asks, what there is to see, and the form that came along."""

    request: Request
    office: Office
    who: Who
    sight: Sight
    form: FormData

    def text(self, name: str) -> str:
        """Return a field of the form as text, "" where it is not there."""
        value = self.form.get(name)
        return value.strip() if isinstance(value, str) else ""

    def query(self, name: str) -> str:
        """Return a value of the address, "" where it is not there."""
        return self.request.query_params.get(name, "").strip()

    def path(self, name: str) -> str:
        """Return a part of the address."""
        return str(self.request.path_params[name])

    @property
    def address(self) -> str:
        """Where the request came from."""
        return self.request.client.host if self.request.client else ""

    @property
    def language(self) -> str:
        """The language of the page: that of whoever asks, where the page speaks it."""
        return spoken(self.request, self.who, self.sight)

    @property
    def words(self) -> dict[str, str]:
        """What this page says, by name, in its language."""
        return page_words(self.request.url.path, self.language)

    def told(self, sentence: str) -> str:
        """Return a sentence of the program in the page's language, where its words have it."""
        english = page_words(self.request.url.path, "en")
        name = next((name for name, said in english.items() if said == sentence), "")
        return self.words[name] if name else sentence

    def page(self, template: str, status: int = 200, **model: Any) -> Response:
        """Return a page made from a template."""
        language = self.language
        text = (
            environment()
            .get_template(f"{template}.html.j2")
            .render(
                who=self.who,
                lang=language,
                w=member_words(language),
                p=page_words(self.request.url.path, language),
                say=say,
                coop=self.sight.settings.name,
                here=self.request.url.path,
                menu=menu(self.who, language),
                token=self.office.sessions.form_token(self.who),
                season=self.sight.season,
                currency=self.sight.settings.currency,
                **model,
            )
        )
        return Response(text, status, media_type="text/html")


Page = Callable[[Asked], Response]


@cache
def environment() -> Environment:
    """Return what templates are read with; StrictUndefined stops at a name a page does not hold."""
    return Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


# Where each role may go; the words in the menu are those of `words/base.toml`.
MENU = (
    ("/queue", ("manager", "treasurer", "chair", "auditor")),
    ("/decisions", ("manager", "treasurer", "chair", "auditor")),
    ("/sheets", ("clerk", "manager", "auditor")),
    ("/type", ("clerk", "manager")),
    ("/awaited", ("clerk", "manager", "auditor")),
    ("/season", ("manager", "treasurer", "chair", "auditor")),
    ("/sign", ("manager", "treasurer", "chair", "auditor")),
    ("/second", ("manager", "treasurer", "chair", "auditor")),
    ("/pay", ("manager", "treasurer", "chair", "auditor")),
    ("/issue", ("manager", "chair", "auditor")),
    ("/questions", ("clerk", "manager", "auditor")),
    ("/codes", ("clerk", "manager")),
    ("/villages", ("trainer", "manager", "auditor")),
    ("/practice", ("trainer", "manager", "auditor")),
    ("/income", ("manager", "treasurer", "chair", "auditor")),
    ("/next", ("trainer", "manager", "treasurer", "chair", "auditor")),
    ("/log", ("manager", "auditor")),
)


def menu(who: Who, language: str = "en") -> list[tuple[str, str]]:
    """Return address and word of the pages that are somebody's."""
    words = page_words("", language)
    return [(address, words[address]) for address, roles in MENU if who.is_any(*roles)]


def route(
    path: str, page: Page, roles: Iterable[str], *, post: bool = False, name: str = ""
) -> Route:
    """Return the route of a page for some roles; none means anybody, signed in or not.

    A page is worked out in a thread, so that a slow one keeps nobody else waiting. A form that
    changes anything must come from a page of the same session.
    """
    allowed = tuple(roles)

    async def answered(request: Request) -> Response:
        office: Office = request.app.state.office
        sight = office.desk.sight()
        who = office.sessions.who(request, sight.settings)
        form = FormData()
        try:
            if allowed and not who.is_any(*allowed):
                return _turned_away(office, request, who, sight)
            if post:
                form = await request.form(max_files=200, max_fields=20_000)
            asked = Asked(request=request, office=office, who=who, sight=sight, form=form)
            if post and not office.sessions.is_own_form(who, str(form.get("token", ""))):
                return refusal(asked, 403, EXPIRED, "/")
            return await run_in_threadpool(_worked, page, asked)
        finally:
            await form.close()

    return Route(path, answered, methods=["POST"] if post else ["GET"], name=name or None)


def _worked(page: Page, asked: Asked) -> Response:
    try:
        return page(asked)
    except Refused as refused:
        return refusal(asked, refused.status, refused.says, refused.back)
    except WeighbookError as error:
        back = asked.request.headers.get("referer", "/")
        return refusal(asked, 422, str(error), _own(back, asked.request))


def _own(address: str, request: Request) -> str:
    """Return the path of an address of ours, or the first page for any other."""
    base = str(request.base_url)
    return "/" + address[len(base) :] if address.startswith(base) else "/"


def refusal(asked: Asked, status: int, says: str, back: str) -> Response:
    """Return a page that says what is wrong and leads back."""
    words = member_words(asked.language)
    said = {NO_PAGE: words["no_page"], EXPIRED: words["expired"]}.get(says)
    return asked.page("refused", status, says=said or asked.told(says), back=back)


def _turned_away(office: Office, request: Request, who: Who, sight: Sight) -> Response:
    """Send those who are not signed in to sign in; say to all others that there is no such page."""
    if not who.roles:
        first = office.accounts.none_yet()
        return RedirectResponse("/first" if first else "/sign-in", 303)
    asked = Asked(request=request, office=office, who=who, sight=sight, form=FormData())
    # The same words as for a page that does not exist: nothing is told of what others may see.
    return refusal(asked, 404, NO_PAGE, "/")


EXPIRED = (
    "This page has expired. Nothing was changed: go back, load it again, and send it once more."
)
NO_PAGE = "There is no such page, or it is not yours to see."


def away(path: str) -> Response:
    """Send the browser to another page, after a form."""
    return RedirectResponse(path, 303)


__all__ = ["MEMBER", "NO_PAGE", "STAFF", "Asked", "Office", "Refused", "away", "menu", "route"]
