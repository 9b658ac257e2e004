"""Fills season files with sheets whose journal lines are written, while more sheets are read."""

import logging
from concurrent.futures import Future, ThreadPoolExecutor, wait
from contextlib import ExitStack, suppress

from pipeline.book.book import Book, kept_settings, working_out
from pipeline.book.journal import Journal
from pipeline.errors import BookError
from pipeline.intake.kept import Reader
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.season.next_file import NextFile
from pipeline.season.refresh import ANEW, UP_TO_DATE, standing

logger = logging.getLogger(__name__)
# Rows that have come since the last call; for fewer, another costs more than it wins.
WORTH_IT = 50_000
# Calls that may wait beside the one under way, so that who reads on need not: `Reader` holds the
# rows of both, and those that are being read.
MAY_WAIT = 1


class Ahead:
    """The next files of a book's seasons, filled in a thread beside the one that reads sheets.

    It saves time and no more: where the season files are held by another, or something fails,
    there is no next file, and the season is worked out from sheets and journal as ever. Until
    it is closed it holds `working_out`, from the first call that asked for it and could have it.
    """

    def __init__(self, book: Book) -> None:
        self._book = book
        self._files: dict[str, NextFile] = {}
        self._held = ExitStack()
        self._pool = ThreadPoolExecutor(max_workers=1)
        self._under_way: list[Future[None]] = []
        self._given = 0
        self.holds = False

    def begin(self, journal: Journal, season: str) -> None:
        """Begin to open the next file of a season that has none, for the sheets that will come."""
        if standing(self._book, journal, season) == ANEW and self._hold():
            self._under_way.append(self._pool.submit(self._open, journal, season, fresh=True))

    def put(self, journal: Journal, reader: Reader) -> None:
        """Bring in all lines up to the journal's head, once those before are in.

        It waits until few calls are under way.
        """
        if reader.given - self._given >= WORTH_IT and self._hold():
            self._wait(MAY_WAIT)
            self._given = reader.given
            self._under_way.append(self._pool.submit(self._bring_in, journal, reader))

    def file(self, season: str, journal: Journal) -> NextFile | None:
        """Return a season's next file, for the caller to go on from and to close; None without.

        None as well where the lines that have come since ask for a file made anew.
        """
        self._wait()
        file = self._files.pop(season, None)
        if file is not None and not file.goes_on_to(journal):
            file.close()
            return None
        return file

    def _bring_in(self, journal: Journal, reader: Reader) -> None:
        for season in seasons_with_sheets(journal, kept_settings(journal)):
            if season not in self._files:
                stands = standing(self._book, journal, season)
                if stands == UP_TO_DATE:
                    continue
                self._open(journal, season, fresh=stands == ANEW)
            self._files[season].apply(journal, reader, more=True)

    def _open(self, journal: Journal, season: str, *, fresh: bool) -> None:
        self._files[season] = NextFile(self._book, journal, season, fresh=fresh)

    def _hold(self) -> bool:
        if not self.holds:
            with suppress(BookError):
                self._held.enter_context(working_out(self._book, wait_s=0))
                self.holds = True
        return self.holds

    def _wait(self, left: int = 0) -> None:
        """Wait until no more calls than `left` are under way; none once one has failed."""
        while len(self._under_way) > left:
            try:
                self._under_way.pop(0).result()
            except Exception as error:
                # Who works the season out meets it again, and says it where somebody hears it.
                logger.info("nothing was brought in ahead: %s", error)
                # What waits goes on from a file that is not whole.
                wait(self._under_way)
                self._under_way.clear()
                self._forget()

    def _forget(self) -> None:
        for file in self._files.values():
            file.close()
        self._files.clear()

    def close(self) -> None:
        """Close what nobody went on from, and let the season files go."""
        self._pool.shutdown()
        self._forget()
        self._held.close()
