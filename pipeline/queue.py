"""The queue of a book: its flags over all seasons, the costliest first."""

from functools import partial

import polars as pl

from pipeline.book.book import Book, kept_settings
from pipeline.season.flag_frame import flags
from pipeline.season.flags import Flag
from pipeline.season.generations import current_path
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.season.tables import connect
from pipeline.season.written import written_cells


def season_flags(
    book: Book, language: str = "en", *, only: pl.Expr | None = None
) -> list[tuple[str, Flag]]:
    """Return every flag with its season's code, its sentences in a language; a register's flag is
    told once.

    Values are shown as their sheets wrote them. `only`: which flags, as for `flags`.
    """
    journal = book.journal()
    settings = kept_settings(journal)
    written = partial(written_cells, book, settings.intake.lifted())
    found: dict[str, tuple[str, Flag]] = {}
    for season in seasons_with_sheets(journal, settings):
        path = current_path(book, season)
        if path is not None:
            with connect(str(path)) as con:
                told = flags(con, settings.decimals, language, written=written, only=only)
                for flag in told:
                    found.setdefault(flag.flag, (season, flag))
    return sorted(found.values(), key=lambda pair: pair[1].rank)
