"""A season's next file while sheets and decisions come in, before anything is worked out."""

from collections.abc import Sequence
from contextlib import closing
from typing import TYPE_CHECKING

import duckdb

from pipeline.book.book import Book, kept_settings
from pipeline.book.decisions import changes_no_row, concerned, needs_all_anew, taken_back
from pipeline.book.journal import Journal
from pipeline.season.generations import working_copy
from pipeline.season.kept_sheets import KeptSheet, closed_at, speaks_for, standing_sheets
from pipeline.season.noted import note_closed, note_decisions, note_posted, take_back
from pipeline.season.schema import create_tables
from pipeline.season.tables import connect, rows
from pipeline.season.written_settings import write_settings

if TYPE_CHECKING:
    from pipeline.intake.kept import Reader
    from pipeline.season.insert import Incoming


class NextFile:
    """The file that will take the place of a season's current one, open in a transaction.

    `fresh`: begun empty instead of as a copy. `done`: the number of the last journal line that is
    in it. `threads`: how many cores it may use, all where none is named. Who opens it holds
    `working_out`, and closes it before it is published.
    """

    def __init__(
        self, book: Book, journal: Journal, season: str, *, fresh: bool, threads: int = 0
    ) -> None:
        self.fresh = fresh
        self.season = season
        self.settings = kept_settings(journal)
        self._book = book
        self._threads = threads
        self.path = working_copy(book, season, fresh=fresh)
        self.con = connect(str(self.path), read_only=False, macros=not fresh, threads=threads)
        # Nobody reads the file before it is published, and all of it is on the disk then.
        self.con.execute("set fsync_mode = 'none'")
        if not fresh:
            # A week's changes are written out once, when all are in; a whole season's as they come.
            # Temp tables count as well: at less, those of a week are compressed in the midst of it.
            self.con.execute("set wal_autocheckpoint = '256MB'")
        self.con.execute("begin transaction")
        if fresh:
            create_tables(self.con)
            write_settings(self.con, self.settings, season)
        self._incoming: Incoming | None = None
        self.done = 0 if fresh else int(rows(self.con, "select journal_n from file_facts")[0][0])

    def apply(
        self, journal: Journal, reader: "Reader | None" = None, *, more: bool = False
    ) -> None:
        """Bring in the lines after `done`: runs of sheets in one go, decisions in their order.

        `reader`: holds what was just read. `more`: other lines follow soon; until then rows may
        wait for more of their kind, and only `apply` and `close` may be called.
        """
        con, season = self.con, self.season
        lines = journal.lines[self.done :]
        by_line: dict[int, list[KeptSheet]] = {}
        closed = closed_at(journal, season)
        for sheet in standing_sheets(journal):
            if sheet.season in speaks_for(season, sheet.line_n, closed):
                by_line.setdefault(sheet.line_n, []).append(sheet)
        if any("instead_of" in one for x in lines if x.what == "taken" for one in x.body["sheets"]):
            self._settle()
        if self._incoming is None:
            _take_away_answered(con, journal)
        gone = taken_back(journal)
        waiting: list[KeptSheet] = []
        for line in lines:
            if line.what == "taken":
                waiting += by_line.get(line.n, [])
            elif concerned(line, season):
                self._add(waiting, reader)
                self._settle()
                waiting = []
                if line.what == "taken-back":
                    take_back(con, line)
                note_decisions(con, line, season, gone)
                if not changes_no_row(line):
                    from pipeline.season.amend import apply_amendments

                    apply_amendments(con, line, season, gone, self.settings)
            elif line.what == "posted":
                self._wait()
                note_posted(con, line)
            elif line.what == "closed" and line.body["season"] == season:
                self._wait()
                note_closed(con, line)
        self._add(waiting, reader)
        if not more:
            self._settle()
        self.done = journal.head[0]

    def _add(self, sheets: Sequence[KeptSheet], reader: "Reader | None") -> None:
        if not sheets:
            return
        if self._incoming is None:
            # What reads sheets takes longer to load than most decisions to work in.
            from pipeline.season.insert import Incoming

            self._incoming = Incoming(
                self.con, self._book, self.settings, in_turn=self._threads == 1
            )
        self._incoming.add(sheets, reader)

    def _wait(self) -> None:
        if self._incoming is not None:
            self._incoming.wait()

    def _settle(self) -> None:
        """Insert the rows that wait; after that anything may be asked of the file."""
        if self._incoming is not None:
            with closing(self._incoming) as incoming:
                incoming.finish()
            self._incoming = None

    def goes_on_to(self, journal: Journal) -> bool:
        """Tell whether the lines after `done` can be brought in, or ask for a file made anew."""
        same = self.settings.season_hash == kept_settings(journal).season_hash
        return same and not any(needs_all_anew(line) for line in journal.lines[self.done :])

    def close(self) -> None:
        """Close the file; what was not committed is gone."""
        if self._incoming is not None:
            self._incoming.close()
        self.con.close()


def _take_away_answered(con: duckdb.DuckDBPyConnection, journal: Journal) -> None:
    """Take sheets away that were kept unread and have been read since, under another number."""
    standing = {sheet.sheet_no for sheet in standing_sheets(journal)}
    gone = [no for (no,) in rows(con, "select sheet_no from sheets") if no not in standing]
    if gone:
        con.execute("delete from sheets where list_contains(?, sheet_no)", [gone])
