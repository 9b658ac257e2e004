"""What members are told between statements: from a book's season to text messages."""

from calendar import monthrange
from datetime import date

from pipeline.book.book import Book, kept_settings
from pipeline.coop import coop_facts
from pipeline.declared import season_with
from pipeline.errors import BookError
from pipeline.season.generations import must_have
from pipeline.season.tables import connect
from reports.telling import Message, of_deliveries, of_month


def messages_of_day(book: Book, day: date) -> list[Message]:
    """Return a message for each weighing of a civil day.

    BookError where it lies in no season, or its season has no sheets.
    """
    settings = kept_settings(book.journal())
    season = season_with(settings.seasons, day, day, str(day)).code
    with connect(str(must_have(book, season))) as con:
        return of_deliveries(con, coop_facts(settings, season), day, day)


def messages_of_month(book: Book, month: str) -> list[Message]:
    """Return a message for each member who delivered in a month such as 2026-05.

    BookError where that is no month or lies in no season, or its season has no sheets.
    """
    try:
        first = date.fromisoformat(f"{month}-01")
    except ValueError:
        raise BookError(f"{month!r} is no month. Write it as 2026-05.") from None
    settings = kept_settings(book.journal())
    last = first.replace(day=monthrange(first.year, first.month)[1])
    season = season_with(settings.seasons, first, last, month).code
    with connect(str(must_have(book, season))) as con:
        return of_month(con, coop_facts(settings, season), first, last)
