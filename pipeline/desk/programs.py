"""The interface for other programs, described by OpenAPI: a station sends sheets, an accountant
reads totals. Each calls with a token of its own.
"""

from typing import Annotated, Any

from fastapi import Depends, FastAPI, HTTPException, Query, Request
from fastapi.responses import JSONResponse
from fastapi.security import HTTPAuthorizationCredentials, HTTPBearer
from pydantic import BaseModel
from starlette.concurrency import run_in_threadpool

from pipeline.desk.accounts import Token
from pipeline.desk.pages import Office
from pipeline.desk.work import Job
from pipeline.errors import WeighbookError


class Trouble(BaseModel):
    """What is wrong, in a sentence."""

    detail: str


class SheetState(BaseModel):
    """What became of one sheet's rows."""

    sheet: str
    status: str
    kind: str
    version: int
    arrived: int
    counted: int
    held: int
    sent_back: int
    replaced: int
    left_out: int
    message: str


class Sent(BaseModel):
    """Sheets that were sent together: `state` is waiting, being read, done or not done."""

    number: str
    state: str
    trouble: str
    sheets: list[SheetState]


class Totals(BaseModel):
    """A season's totals: money in whole minor units of `currency`, kilograms as text."""

    season: str
    journal_line: int
    currency: str
    currency_decimals: int
    members: int
    members_delivering: int
    weighings: int
    green_bean_equivalent_kg: str
    value_minor: int
    deducted_minor: int
    paid_minor: int
    balance_minor: int
    rows_waiting: int
    kg_waiting: str


def make_interface(office: Office) -> FastAPI:
    """Return the interface of a desk."""
    api = FastAPI(
        title="Weighbook",
        version="1",
        description="Sheets in, totals out. Tokens are made with: weighbook people token BOOK",
        docs_url=None,
        redoc_url=None,
        openapi_url="/openapi.json",
        root_path_in_servers=False,
    )
    bearer = HTTPBearer(auto_error=False, description="A token of this book.")

    def caller(
        held: Annotated[HTTPAuthorizationCredentials | None, Depends(bearer)],
    ) -> Token:
        token = office.accounts.token(held.credentials) if held else None
        if token is None:
            raise HTTPException(401, "A token is needed: Authorization: Bearer ...")
        return token

    def sender(token: Annotated[Token, Depends(caller)]) -> Token:
        return _may(token, "send")

    def reader(token: Annotated[Token, Depends(caller)]) -> Token:
        return _may(token, "read")

    troubles: dict[int | str, dict[str, Any]] = {
        code: {"model": Trouble} for code in (400, 401, 403, 404, 413, 422)
    }

    @api.post("/sheets", status_code=202, responses=troubles, openapi_extra=_BODY)
    async def send_sheet(
        request: Request,
        name: Annotated[str, Query(min_length=1, max_length=200, description="The file's name.")],
        token: Annotated[Token, Depends(sender)],
    ) -> Sent:
        """Send one sheet, its bytes as they are; it is safe when the answer comes."""
        content = await request.body()
        if not content:
            raise HTTPException(400, "No sheet came along. Send the file's bytes as the body.")
        by = f"program {token.name}"
        job = await run_in_threadpool(office.work.send, [(name, content)], by=by)
        office.log.note(by, "sent a sheet", name)
        return _sent(job)

    @api.get("/sheets/{number}", responses=troubles)
    def sheet_state(number: str, token: Annotated[Token, Depends(sender)]) -> Sent:
        """Say what became of a sheet that this program sent."""
        job = office.work.job(number)
        if job is None or job.by != f"program {token.name}":
            raise HTTPException(404, "This program sent nothing under that number.")
        return _sent(job)

    @api.get("/totals/{season}", responses=troubles)
    def season_totals(season: str, token: Annotated[Token, Depends(reader)]) -> Totals:
        """Read a season's totals."""
        assert token
        sight = office.desk.sight()
        one = sight.generations.get(season)
        if one is None:
            known = ", ".join(sight.generations) or "none yet"
            raise HTTPException(404, f"There is no such season. There are: {known}.")
        row = one.totals.season
        return Totals(
            season=one.season,
            journal_line=one.journal_n,
            currency=sight.settings.currency,
            currency_decimals=sight.settings.decimals,
            members=row["members"],
            members_delivering=row["delivering"],
            weighings=row["deliveries"],
            green_bean_equivalent_kg=str(row["gbe_kg"]),
            rows_waiting=row["waiting_rows"],
            kg_waiting=str(row["waiting_kg"]),
            **{key: row[key] for key in _MINOR},
        )

    async def in_a_sentence(_: Request, error: Exception) -> JSONResponse:
        return JSONResponse({"detail": str(error)}, 422)

    api.add_exception_handler(WeighbookError, in_a_sentence)
    return api


def _may(token: Token, what: str) -> Token:
    if token.may != what:
        raise HTTPException(403, f"This token may {token.may}, and not {what}.")
    return token


_MINOR = ("value_minor", "deducted_minor", "paid_minor", "balance_minor")
_BODY: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}


def _sent(job: Job) -> Sent:
    keys = SheetState.model_fields
    return Sent(
        number=job.id,
        state=job.state,
        trouble=job.trouble,
        sheets=[SheetState(**{key: one[key] for key in keys}) for one in job.results],
    )
