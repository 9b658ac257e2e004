"""A manager's approval: the statements of a season may be issued as the book stands now."""

from collections.abc import Iterator

from pipeline.book.book import Book, note_settings, now, writing
from pipeline.book.journal import Journal, Line, append
from pipeline.errors import DecisionError
from pipeline.people import roles_of
from pipeline.season.generations import must_have
from pipeline.season.kept_sheets import closed_at
from pipeline.season.refresh import concerns

ROLES = ("manager", "chair")


def approve(book: Book, season: str, *, by: str, at: str = "") -> Line:
    """Write the approval to the journal and return its line; the same again changes nothing.

    DecisionError where people are declared and `by` is neither manager nor chair, or is nameless.
    A sheet or decision that comes later ends an approval: it was given for other figures.
    """
    at = at or now()
    with writing(book):
        journal, settings = note_settings(book, book.journal(), at)
        settings.season(season)
        must_have(book, season)
        if not by.strip():
            raise DecisionError("An approval needs a name. Say who approves with --by.")
        if settings.people and not roles_of(settings, by) & set(ROLES):
            raise DecisionError(
                f"{by} is declared neither as manager nor as chair. One of them approves."
            )
        standing = approval(journal, season)
        if standing is not None:
            return standing
        return append(journal, "approved", {"season": season, "by": by.strip()}, at).lines[-1]


def approval(journal: Journal, season: str) -> Line | None:
    """Return the approval of a season that stands, or None where there is none since it changed."""
    last = next(changes(journal, season), None)
    approved = (
        line
        for line in reversed(journal.lines[last.n if last else 0 :])
        if line.what == "approved" and line.body["season"] == season
    )
    return next(approved, None)


def changes(journal: Journal, season: str, since: int = 0) -> Iterator[Line]:
    """Yield, from the last on, the lines after one that make a season's figures other ones."""
    closed = closed_at(journal, season)
    for line in reversed(journal.lines[since:]):
        if concerns(line, season, closed) or line.what in ("posted", "closed"):
            yield line


def issued_since(journal: Journal, season: str, n: int) -> bool:
    """Tell whether a season was issued after a line of the journal."""
    return any(
        line.what == "issued" and line.body["season"] == season for line in journal.lines[n:]
    )
