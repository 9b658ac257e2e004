"""What stands before every page: how large a request may be, and the headers of every answer."""

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MEBIBYTE = 1 << 20
# Sheets of a whole week with a few photographs of paper.
MOST_BYTES = 64 * MEBIBYTE
MOST_FORM_BYTES = MEBIBYTE
LARGE = ("/sheets", "/type", "/api/sheets")

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'{style}; img-src 'self' blob: data:; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
TOO_LARGE = (
    "What was sent is larger than {most} MiB, the most that is taken at once. Nothing was kept. "
    "Go back and send fewer sheets at a time, or smaller photographs."
)


class TooLarge(Exception):
    """More came than may come."""


class Guard:
    """Refuses what is too large and gives every answer its headers."""

    def __init__(self, app: ASGIApp, most: int = MOST_BYTES) -> None:
        self.app = app
        self.most = most

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        path: str = scope["path"]
        most = self.most if path.startswith(LARGE) else MOST_FORM_BYTES
        said = Headers(scope=scope).get("content-length", "0")
        seen = 0

        async def counted() -> Message:
            nonlocal seen
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > most:
                raise TooLarge
            return message

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                _headers(MutableHeaders(raw=message["headers"]), path)
                message["headers"] = MutableHeaders(raw=message["headers"]).raw
            await send(message)

        too_large = PlainTextResponse(TOO_LARGE.format(most=most // MEBIBYTE), 413)
        if not said.isdecimal() or int(said) > most:
            await too_large(scope, receive, guarded)
            return
        try:
            await self.app(scope, counted, guarded)
        except TooLarge:
            await too_large(scope, receive, guarded)


def _headers(headers: MutableHeaders, path: str) -> None:
    style = headers.get("x-style", "")
    if style:
        del headers["x-style"]
    headers["content-security-policy"] = POLICY.format(style=f" {style}" if style else "")
    headers["x-content-type-options"] = "nosniff"
    headers["referrer-policy"] = "same-origin"
    headers["x-frame-options"] = "DENY"
    headers["cross-origin-opener-policy"] = "same-origin"
    headers["permissions-policy"] = "camera=(), geolocation=(), microphone=()"
    # What a page shows is somebody's own: no shared cache, and no copy on a shared phone.
    headers["cache-control"] = "max-age=600" if path.startswith("/static/") else "no-store"
