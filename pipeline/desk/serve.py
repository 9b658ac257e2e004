"""Serves the desk of a book with uvicorn, on loopback unless told otherwise."""

import uvicorn

from pipeline.book.book import Book
from pipeline.desk.app import make_app, make_office


def serve(book: Book, *, host: str, port: int) -> None:
    """Serve until interrupted; what was sent by then is taken now or at the next start."""
    uvicorn.run(
        make_app(make_office(book)),
        host=host,
        port=port,
        log_level="warning",
        access_log=False,
        server_header=False,
        # Nobody behind a proxy is believed about where a request came from.
        proxy_headers=False,
        limit_concurrency=200,
        timeout_keep_alive=20,
    )
