"""Keeps season files up to the journal: which there are, and bringing each up to its head."""

import logging
from collections.abc import Callable
from contextlib import nullcontext
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import duckdb

from pipeline.book.book import Book, kept_settings, note_settings, now, working_out, writing
from pipeline.book.journal import Journal
from pipeline.errors import BookError
from pipeline.season.generations import current_path, must_have
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.season.refresh import ANEW, UP_TO_DATE, WAITING, refresh, standing
from pipeline.season.tables import connect
from pipeline.season.whole import is_whole
from pipeline.settings import Settings

if TYPE_CHECKING:
    from pipeline.ahead import Ahead
    from pipeline.intake.kept import Reader

logger = logging.getLogger(__name__)


def bring_up_to_date(
    book: Book,
    journal: Journal,
    settings: Settings,
    *,
    reader: "Reader | None" = None,
    fresh: bool = False,
    at_once: bool = False,
    threads: int = 0,
    told: Callable[[str], None] | None = None,
    ahead: "Ahead | None" = None,
) -> None:
    """Bring every season's file up to the journal's head, where a line since concerns it.

    `at_once`: leave what can wait to the next call without it, as `refresh` says.
    `threads`: how many cores SQL may use, all where none is named. `told` is called before each
    part of the work with its name. `ahead`: what was brought in while sheets were read. What was
    written to the journal while another worked is brought in as well.
    """
    for code in seasons_with_sheets(journal, settings):
        with nullcontext() if ahead and ahead.holds else working_out(book):
            # Never work a file out by older settings than it was made with.
            latest = book.journal()
            journal = latest if latest.head[0] > journal.head[0] else journal
            stands = standing(book, journal, code)
            if fresh or not (stands == UP_TO_DATE or (stands == WAITING and at_once)):
                anew = fresh or stands == ANEW
                work = partial(
                    refresh,
                    book,
                    journal,
                    code,
                    reader=reader,
                    at_once=at_once,
                    threads=threads,
                    told=told,
                )
                begun = ahead.file(code, journal) if ahead else None
                try:
                    work(fresh=anew, begun=begun)
                except duckdb.OutOfMemoryException as error:
                    raise _no_room(code, error) from None
                except duckdb.Error as error:
                    if anew:
                        raise
                    # The file may be damaged: what is in it, sheets and journal give again.
                    logger.info("season %s is worked out anew: %s", code, error)
                    work(fresh=True)


def _no_room(season: str, error: duckdb.Error) -> BookError:
    said = str(error).partition("\n")[0]
    return BookError(
        f"Season {season} is larger than the memory and the disk's free room allow ({said}). All "
        "sheets are kept. Make room on the disk of the book, and run: weighbook rebuild"
    )


def whole_file(book: Book, season: str) -> Path:
    """Return a season's file to read, in which nothing waits: what does is worked out first.

    For who reads comparisons or writes documents. BookError where nothing was taken for the season,
    or where something waits and the book cannot be written to.
    """
    path = must_have(book, season)
    with connect(str(path)) as con:
        whole = is_whole(con)
    if whole:
        return path
    journal = book.journal()
    bring_up_to_date(book, journal, kept_settings(journal))
    return must_have(book, season)


def waits(book: Book, journal: Journal, settings: Settings) -> bool:
    """Tell whether `at_once` left steps of the working out waiting in any season's file."""
    codes = seasons_with_sheets(journal, settings)
    return any(standing(book, journal, code) == WAITING for code in codes)


def rebuild(book: Book) -> list[Path]:
    """Work every season out anew from sheets and journal; return the season files."""
    with writing(book):
        journal, settings = note_settings(book, book.journal(), now())
        bring_up_to_date(book, journal, settings, fresh=True)
        return [
            path
            for code in seasons_with_sheets(journal, settings)
            if (path := current_path(book, code)) is not None
        ]
