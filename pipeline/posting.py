"""What takes two people: posting a sheet that the program worked out, and keeping who did."""

import csv
import hashlib
import io
import tempfile
from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path

from pipeline.book.book import Book, now, writing
from pipeline.book.journal import append
from pipeline.errors import PostingError
from pipeline.intake.kinds import kinds
from pipeline.take import take
from pipeline.taken import Taken


def sheet_text(kind_name: str, rows: Iterable[Mapping[str, str]]) -> bytes:
    """Return rows as a sheet of a kind: the English headings of the columns they have."""
    kind, listed = kinds()[kind_name], list(rows)
    columns = [c for c in kind.columns if any(row.get(c.name) for row in listed)]
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow([column.heading() for column in columns])
    writer.writerows([row.get(column.name, "") for column in columns] for row in listed)
    return text.getvalue().encode()


def post(
    book: Book,
    name: str,
    kind: str,
    content: bytes,
    *,
    by: str,
    second: str,
    about: Mapping[str, object],
    day: date | None = None,
    at: str = "",
) -> Taken:
    """Note who posts a sheet, then take it like any other; PostingError unless all of it counts.

    The line with both names is written first: a crash after it leaves a sheet that is not there
    yet, and posting again takes it.
    """
    at = at or now()
    body = {
        "sha256": hashlib.sha256(content).hexdigest(),
        "of": kind,
        "name": name,
        "by": by.strip(),
        "second": second.strip(),
        **about,
    }
    with writing(book):
        append(book.journal(), "posted", body, at)
    with tempfile.TemporaryDirectory(prefix="weighbook-post-") as folder:
        path = Path(folder) / name
        path.write_bytes(content)
        (taken,) = take(book, [path], by=by, day=day, at=at)
    if taken.counted != taken.arrived:
        raise PostingError(
            f"{name}: {taken.arrived - taken.counted} of {taken.arrived} rows wait or went back. "
            "List them with weighbook flags, and settle each with weighbook decide before anything "
            "is paid."
        )
    return taken
