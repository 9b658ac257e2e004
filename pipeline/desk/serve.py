"""Serves the desk of a book with uvicorn, on loopback unless told otherwise."""

import uvicorn

from pipeline.book.book import Book
from pipeline.desk.app import make_app, make_office


def serve(book: Book, *, host: str, port: int, proxy: str = "") -> None:
    """Serve until interrupted; what was sent by then is taken now or at the next start.

    `proxy`: the address of a proxy that speaks TLS, which is believed about where a request came
    from and by what scheme; cookies then go over TLS alone.
    """
    uvicorn.run(
        make_app(make_office(book, secure=bool(proxy))),
        host=host,
        port=port,
        log_level="warning",
        access_log=False,
        server_header=False,
        # Nobody else is believed about where a request came from.
        proxy_headers=bool(proxy),
        forwarded_allow_ips=proxy or None,
        limit_concurrency=200,
        timeout_keep_alive=20,
    )
