"""The desk as one application: its pages by role, its interface for programs, its guard."""

from collections.abc import AsyncGenerator
from contextlib import asynccontextmanager

from starlette.applications import Starlette
from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp

from pipeline.book.book import Book, kept_settings
from pipeline.desk import (
    awaiting,
    deciding,
    farming,
    member,
    members,
    my_farm,
    paper,
    paying,
    season,
    second,
    sheets,
    signing,
    villages,
)
from pipeline.desk.accounts import Accounts
from pipeline.desk.desk import Desk
from pipeline.desk.guard import MOST_BYTES, Guard
from pipeline.desk.log import Log
from pipeline.desk.pages import HERE, NO_PAGE, Asked, Office, refusal
from pipeline.desk.programs import make_interface
from pipeline.desk.session import Sessions
from pipeline.desk.work import Work
from pipeline.explain.sheets import SheetReader
from pipeline.upkeep import bring_up_to_date

PAGES: list[Route] = [
    *signing.ROUTES,
    *deciding.ROUTES,
    *sheets.ROUTES,
    *paper.ROUTES,
    *awaiting.ROUTES,
    *season.ROUTES,
    *second.ROUTES,
    *paying.ROUTES,
    *members.ROUTES,
    *member.ROUTES,
    *villages.ROUTES,
    *farming.ROUTES,
    *my_farm.ROUTES,
]


def make_office(book: Book, *, quick_hashes: bool = False, secure: bool = False) -> Office:
    """Open a book for the desk: bring its seasons up to the journal, then look at them.

    `secure`: cookies go over TLS alone, whatever the request says.
    """
    journal = book.journal()
    if any(line.what == "taken" for line in journal.lines):
        bring_up_to_date(book, journal, kept_settings(journal), at_once=True)
    accounts = Accounts(book, quick=quick_hashes)
    desk = Desk(book, accounts)
    desk.look()
    reader = SheetReader(book)
    return Office(
        desk=desk,
        accounts=accounts,
        sessions=Sessions(accounts, secure=secure),
        work=Work(desk, reader),
        log=Log(book),
        sheets=reader,
    )


def make_app(office: Office, *, most_bytes: int = MOST_BYTES) -> ASGIApp:
    """Return the desk of a book; its work starts and ends with it."""

    @asynccontextmanager
    async def life(_: Starlette) -> AsyncGenerator[None]:
        office.work.start()
        yield
        office.work.stop()
        office.accounts.close()

    app = Starlette(
        routes=[
            *PAGES,
            Mount("/static", StaticFiles(directory=HERE / "static")),
            Mount("/api", make_interface(office)),
        ],
        lifespan=life,
        exception_handlers={HTTPException: _no_page, Exception: _fault},
    )
    app.state.office = office
    return Guard(app, most_bytes)


async def _no_page(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 404
    says = NO_PAGE if status in (404, 405) else "The form could not be read. Go back and try again."
    return refusal(_asked(request), status, says, "/")


async def _fault(request: Request, error: Exception) -> Response:
    says = (
        "This is a fault of the program, not of what you did. What was taken before is safe. "
        "Tell whoever looks after it what you were doing."
    )
    return refusal(_asked(request), 500, says, "/")


def _asked(request: Request) -> Asked:
    office: Office = request.app.state.office
    sight = office.desk.sight()
    who = office.sessions.who(request, sight.settings)
    return Asked(request=request, office=office, who=who, sight=sight, form=FormData())
