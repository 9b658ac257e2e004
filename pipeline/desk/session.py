"""Who is asking: signed cookies, and form tokens that belong to one session."""

import secrets
from dataclasses import dataclass
from typing import Any, cast

from itsdangerous import BadSignature, URLSafeTimedSerializer
from starlette.requests import Request
from starlette.responses import Response

from pipeline.desk.accounts import Accounts
from pipeline.people import roles_of
from pipeline.settings import Settings

COOKIE = "weighbook"
# A working day; then one signs in again.
LASTS_S = 12 * 3600
# A member's phone may be shared: after half an hour it shows nothing without the code.
MEMBER_S = 1800
MEMBER = "member"


@dataclass(frozen=True, slots=True, kw_only=True)
class Who:
    """Somebody who asked for a page: name, roles and stations; or a member with a code.

    Nobody signed in has no role. `stations` is empty for all stations.
    """

    name: str = ""
    roles: frozenset[str] = frozenset()
    stations: tuple[str, ...] = ()
    member_no: str = ""
    session: str = ""

    def is_any(self, *roles: str) -> bool:
        """Tell whether this person has one of these roles."""
        return bool(self.roles & set(roles))

    def sees(self, station: str | None) -> bool:
        """Tell whether a station's sheets are this person's to see; registers are everybody's."""
        return not self.own_stations or not station or station in self.own_stations

    @property
    def own_stations(self) -> tuple[str, ...]:
        """The stations that this person is held to; none for all."""
        return () if self.is_any("manager", "auditor") else self.stations


class Sessions:
    """Signs cookies and form tokens with the book's own key."""

    def __init__(self, accounts: Accounts, *, secure: bool = False) -> None:
        self.accounts = accounts
        self._secure = secure
        key = accounts.key()
        self._cookies = URLSafeTimedSerializer(key, salt="session")
        self._forms = URLSafeTimedSerializer(key, salt="form")

    def who(self, request: Request, settings: Settings) -> Who:
        """Return who asks; nobody where the cookie is missing, altered, old or ended."""
        said = _loaded(self._cookies, request.cookies.get(COOKIE, ""))
        if not isinstance(said, dict):
            return Who(session="")
        held = cast(dict[str, Any], said)
        if number := held.get("member"):
            fresh = _loaded(self._cookies, request.cookies.get(COOKIE, ""), MEMBER_S)
            valid = fresh is not None and number in self.accounts.coded()
            return (
                Who(roles=frozenset((MEMBER,)), member_no=number, session=held["id"])
                if valid
                else Who()
            )
        account = self.accounts.names().get(str(held.get("name", "")).casefold())
        if account is None or account.locked or account.turn != held.get("turn"):
            return Who()
        person = settings.person(account.name)
        return Who(
            name=account.name,
            roles=roles_of(settings, account.name),
            stations=person.stations if person else (),
            session=held["id"],
        )

    def start(self, response: Response, *, secure: bool, **held: object) -> None:
        """Give a response the cookie of a new session."""
        value = self._cookies.dumps(held | {"id": secrets.token_hex(8)})
        response.set_cookie(
            COOKIE,
            str(value),
            max_age=LASTS_S if "name" in held else None,
            httponly=True,
            samesite="strict" if "name" in held else "lax",
            secure=secure or self._secure,
        )

    def end(self, response: Response) -> None:
        """Take the cookie away."""
        response.delete_cookie(COOKIE, httponly=True, samesite="strict")

    def form_token(self, who: Who) -> str:
        """Return what a form of this session sends along."""
        return str(self._forms.dumps(who.session))

    def is_own_form(self, who: Who, token: str) -> bool:
        """Tell whether a form came from a page of this session, not too long ago."""
        return _loaded(self._forms, token) == who.session


def _loaded(serializer: URLSafeTimedSerializer, text: str, max_age: int = LASTS_S) -> object:
    try:
        return serializer.loads(text, max_age=max_age) if text else None
    except BadSignature:
        return None
