"""Signing in and out, the first account, one's own password, and the log of who did what."""

from starlette.responses import Response
from starlette.routing import Route

from pipeline.desk.accounts import refuse_weak
from pipeline.desk.pages import MENU, STAFF, Asked, Refused, away, route
from pipeline.desk.session import MEMBER
from pipeline.errors import AccountError
from pipeline.people import declare_person


def home(asked: Asked) -> Response:
    """The first page that is somebody's own."""
    if asked.who.is_any(MEMBER):
        return away("/my")
    if not asked.who.roles:
        if asked.who.name:
            raise Refused(403, "Your account has no role yet. Ask whoever looks after the book.")
        return away("/first" if asked.office.accounts.none_yet() else "/sign-in")
    order = ["/sheets"] if asked.who.is_any("clerk") and not asked.who.is_any("manager") else []
    own = [address for address, roles in MENU if asked.who.is_any(*roles)]
    return away([*order, *own, "/password"][0])


def sign_in_page(asked: Asked) -> Response:
    """Name and password."""
    return asked.page("sign_in", says="")


def sign_in_form(asked: Asked) -> Response:
    """Sign in, or be told that it did not fit."""
    name, office = asked.text("name"), asked.office
    password = str(asked.form.get("password", ""))
    try:
        account = office.accounts.sign_in(name, password, asked.address)
    except AccountError as error:
        office.log.note(name[:80], "failed to sign in", asked.address)
        return asked.page("sign_in", 401, says=asked.told(str(error)))
    office.log.note(account.name, "signed in", asked.address)
    answer = away("/")
    secure = asked.request.url.scheme == "https"
    office.sessions.start(answer, secure=secure, name=account.name, turn=account.turn)
    return answer


def sign_out_form(asked: Asked) -> Response:
    """End the session."""
    answer = away("/my/code" if asked.who.is_any(MEMBER) else "/sign-in")
    asked.office.sessions.end(answer)
    return answer


def first_page(asked: Asked) -> Response:
    """The first account of a book, while there is none."""
    _refuse_later(asked)
    return asked.page("first", says="", people=[one.name for one in asked.sight.settings.people])


def first_form(asked: Asked) -> Response:
    """Make the first account: a manager, declared in book.toml."""
    _refuse_later(asked)
    name, password = " ".join(asked.text("name").split()), str(asked.form.get("password", ""))
    people = [one.name for one in asked.sight.settings.people]
    try:
        if password != str(asked.form.get("again", "")):
            raise AccountError("The two passwords differ. Type the same one twice.")
        if not name or len(name) > 80:
            raise AccountError("Type your name, as it is to stand beside what you decide.")
        refuse_weak(name, password)
        person = asked.sight.settings.person(name)
        if person is None or "manager" not in person.roles:
            roles = [*(person.roles if person else ()), "manager"]
            declare_person(asked.sight.book, name, roles=roles)
        asked.office.accounts.set_password(name, password)
    except AccountError as error:
        return asked.page("first", 422, says=str(error), people=people)
    asked.office.desk.look()
    asked.office.log.note(name, "made the first account")
    return away("/sign-in")


def _refuse_later(asked: Asked) -> None:
    if not asked.office.accounts.none_yet():
        raise Refused(404, "The first account is made. Sign in, or ask for one.", "/sign-in")


def password_page(asked: Asked) -> Response:
    """One's own password."""
    return asked.page("password", says="", done=False)


def password_form(asked: Asked) -> Response:
    """Change one's own password; all one's sessions end."""
    accounts, who = asked.office.accounts, asked.who.name
    try:
        accounts.sign_in(who, str(asked.form.get("old", "")), asked.address)
        if asked.form.get("password") != asked.form.get("again"):
            raise AccountError("The two new passwords differ. Type the same one twice.")
        accounts.set_password(who, str(asked.form.get("password", "")))
    except AccountError as error:
        return asked.page("password", 422, says=asked.told(str(error)), done=False)
    asked.office.log.note(who, "changed the password")
    answer = away("/sign-in")
    asked.office.sessions.end(answer)
    return answer


def log_page(asked: Asked) -> Response:
    """Who did what at the desk, the newest first."""
    return asked.page("log", lines=asked.office.log.latest(150))


ROUTES: list[Route] = [
    route("/", home, ()),
    route("/sign-in", sign_in_page, ()),
    route("/sign-in", sign_in_form, (), post=True),
    route("/sign-out", sign_out_form, (), post=True),
    route("/first", first_page, ()),
    route("/first", first_form, (), post=True),
    route("/password", password_page, STAFF),
    route("/password", password_form, STAFF, post=True),
    route("/log", log_page, ("manager", "auditor")),
]
