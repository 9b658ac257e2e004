"""Takes sheets into a book: keep the bytes, write the journal line, bring the seasons up to it."""

from collections.abc import Callable, Sequence
from contextlib import closing
from datetime import date
from pathlib import Path

from pipeline.ahead import Ahead
from pipeline.book.book import Book, now, writing
from pipeline.intake.speaks import Answer
from pipeline.keep import Noted, keep_by_day
from pipeline.taken import Taken, results
from pipeline.upkeep import bring_up_to_date


def take(
    book: Book,
    paths: Sequence[Path],
    *,
    by: str,
    day: date | None = None,
    answer: Answer | None = None,
    progress: Callable[[int], None] | None = None,
    noted: Noted | None = None,
    stations: Sequence[str] = (),
    at: str = "",
) -> list[Taken]:
    """Take any number of sheets in one go and return what became of each, in the order given.

    `day`: the civil day on which they came in, today where none is given. The sheets are safe when
    the journal line is written; what follows can always be worked out again. `answer`: what is said
    about these sheets where they are doubtful; a sheet that was kept unread is then read. `noted`
    is called once the journal line is written, with what it says of each new sheet; `progress`
    after every run of files, with how many were read. `stations`: those whose sheets may come in,
    all where none is named; a sheet of another is refused, and not kept.
    """
    at = at or now()
    day = day or date.fromisoformat(at[:10])
    return take_by_day(
        book,
        [(day, paths)],
        by=by,
        answer=answer,
        progress=progress,
        noted=noted,
        stations=stations,
        at=at,
    )


def take_by_day(
    book: Book,
    days: Sequence[tuple[date, Sequence[Path]]],
    *,
    by: str,
    answer: Answer | None = None,
    progress: Callable[[int], None] | None = None,
    noted: Noted | None = None,
    told: Callable[[str], None] | None = None,
    stations: Sequence[str] = (),
    at: str = "",
) -> list[Taken]:
    """Take the sheets of many days, a journal line or more each; seasons are worked out at the end.

    Otherwise as `take`. A season's backlog costs little more than one day of it so. `told` is
    called before each part of the work with its name.
    """
    at = at or now()
    with closing(Ahead(book)) as ahead:
        with writing(book):
            if told:
                told("keep and read")
            kept = keep_by_day(
                book,
                days,
                by=by,
                answer=answer,
                progress=progress,
                noted=noted,
                stations=stations,
                at=at,
                ahead=ahead,
            )
        # The sheets are safe: others may write to the journal while the season is worked out.
        bring_up_to_date(
            book, kept.journal, kept.settings, reader=kept.reader, told=told, ahead=ahead
        )
    every = [path for _, paths in days for path in paths]
    return results(book, kept.journal, kept.settings, every, kept.files, kept.new)
