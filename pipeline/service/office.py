"""The process that serves the desk and takes what is dropped into the inbox, without Prefect."""

import sys
from dataclasses import asdict
from pathlib import Path

from pipeline.book.book import open_book
from pipeline.desk.serve import serve
from pipeline.inbox import InboxWatcher, Looked
from pipeline.service.child import end_with_parent
from pipeline.service.notes import write_note


def main(folder: str, host: str, port: str) -> None:
    """Serve until ended."""
    end_with_parent()
    book = open_book(Path(folder))

    def told(looked: Looked) -> None:
        write_note(book, "inbox", asdict(looked))

    with InboxWatcher(book, told=told):
        serve(book, host=host, port=int(port))


if __name__ == "__main__":
    main(*sys.argv[1:])
