"""Brings a season file up to the journal: sheets first, then all that follows from them."""

import json
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import duckdb

from pipeline.book.book import Book, kept_settings
from pipeline.book.decisions import changes_no_row, concerned, needs_all_anew
from pipeline.book.journal import Journal, Line
from pipeline.errors import BookError
from pipeline.season.generations import SCHEMA_NO, current_path, publish, said_of
from pipeline.season.kept_sheets import closed_at, speaks_for
from pipeline.season.next_file import NextFile
from pipeline.season.ready import Ready
from pipeline.season.schema import makings_hash
from pipeline.season.tables import connect, give_memory, rows
from pipeline.season.work_out import work_out

if TYPE_CHECKING:
    from pipeline.intake.kept import Reader

# From so many rows on, a decision's comparisons take longer than anybody should wait for its money.
LARGE = 100_000
ANEW, BEHIND, WAITING, UP_TO_DATE = "anew", "behind", "waiting", "up to date"


def concerns(line: Line, season: str, closed: int) -> bool:
    """Tell whether a journal line adds to what a season file holds.

    `closed`: the number of the line that closed the season, as `closed_at` tells. Settings do not:
    where those that matter to a season differ, the file is made anew.
    """
    if line.what == "taken":
        named = speaks_for(season, line.n, closed)
        return any(
            one["season"] in named
            for entry in line.body["sheets"]
            for one in (entry, *entry.get("instead_of", ()))
        )
    return concerned(line, season)


def refresh(
    book: Book,
    journal: Journal,
    season: str,
    *,
    reader: "Reader | None" = None,
    fresh: bool,
    at_once: bool = False,
    threads: int = 0,
    told: Callable[[str], None] | None = None,
    begun: NextFile | None = None,
) -> Path:
    """Write the next generation of a season file, with every journal line applied.

    `fresh`: make it anew instead of going on from the current one, as `standing` tells.
    `at_once`: where nothing but decisions on rows as they stand is to be brought into a large
    season, work out their states and the money of it, and leave what compares rows waiting.
    `reader`: holds what was just read, so that a sheet just taken is not read twice.
    `told` is called before each part of the work with its name. `begun`: the next file where some
    lines are in it already; it goes on from that one, which is closed then.
    A crash at any point leaves the file before this one current. ConservationError where the rows
    do not add up; then nothing is published.
    """
    file = begun or NextFile(book, journal, season, fresh=fresh, threads=threads)
    with Ready(book, season) as ready:
        with closing(file):
            behind = _behind(journal, season, file.done)
            if told:
                told("type and store")
            file.apply(journal, reader)
            ((arrived,),) = rows(file.con, "select coalesce(sum(arrived), 0) from sheets")
            give_memory(file.con, arrived)
            at_once = at_once and arrived >= LARGE and not file.fresh
            at_once = at_once and all(changes_no_row(line) for line in behind)
            if not at_once and not file.fresh:
                ready.begin()
            facts = _worked_out(file, journal, told, at_once=at_once)
        # To delete a large file takes time, and to copy one: a decision leaves both to the next.
        beside = None if at_once else ready.follow
        says = json.dumps(facts._asdict())
        path = publish(book, season, file.path, facts.journal_n, says=says, beside=beside)
        if not at_once:
            ready.name(path)
        return path


def _worked_out(
    file: NextFile, journal: Journal, told: Callable[[str], None] | None, *, at_once: bool
) -> "Facts":
    """Work out a file that all lines are in, and write it; return what it then says of itself."""
    con = file.con

    def before(part: str) -> None:
        # DuckDB gives back what a step had made for itself when its transaction ends, not when
        # that is dropped; nobody reads the file before it is published.
        con.execute("commit")
        con.execute("begin transaction")
        if told:
            told(part)

    steps = work_out(con, file.settings, told=told if at_once else before, at_once=at_once)
    if told:
        told("publish")
    n, line_hash = journal.head
    whole = not steps.waiting
    facts = Facts(SCHEMA_NO, file.settings.season_hash, makings_hash(), n, whole)
    con.execute("delete from file_facts")
    con.execute(
        "insert into file_facts values (?, ?, ?, ?, ?, ?, ?)",
        [SCHEMA_NO, file.season, n, line_hash, facts.settings_hash, facts.makings_hash, whole],
    )
    con.execute("commit")
    con.execute("checkpoint")
    return facts


def standing(book: Book, journal: Journal, season: str) -> str:
    """Tell how a season's file stands to the journal: ANEW, BEHIND, WAITING or UP_TO_DATE.

    It is to be made anew where there is none, or where another schema, other settings or other
    rules made it; waiting where every line is in, and some steps of the working out are left.
    """
    path = current_path(book, season)
    if path is None:
        return ANEW
    facts = _facts_of(book, season, path)
    if facts is None:
        return ANEW
    made_by = (facts.schema_no, facts.settings_hash, facts.makings_hash)
    if made_by != (SCHEMA_NO, kept_settings(journal).season_hash, makings_hash()):
        return ANEW
    behind = _behind(journal, season, facts.journal_n)
    if any(needs_all_anew(line) for line in behind):
        return ANEW
    if behind:
        return BEHIND
    return UP_TO_DATE if facts.whole else WAITING


def _behind(journal: Journal, season: str, n: int) -> list[Line]:
    closed = closed_at(journal, season)
    return [line for line in journal.lines[n:] if concerns(line, season, closed)]


class Facts(NamedTuple):
    """What a season file says of itself: by what it was made, and how far it has been brought."""

    schema_no: int
    settings_hash: str
    makings_hash: str
    journal_n: int
    whole: bool


def _facts_of(book: Book, season: str, path: Path) -> Facts | None:
    """Return what a season file says of itself; None where it is damaged.

    Nothing is in a damaged file that sheets and journal do not give again. Where it stands beside
    the file as well it is not opened: a book has many seasons, and each takes a while.
    """
    if said := said_of(book, season, path):
        facts = Facts(**json.loads(said))
        _refuse_newer(facts.schema_no)
        return facts
    try:
        with connect(str(path)) as con:
            _refuse_newer(int(rows(con, "select schema_no from file_facts")[0][0]))
            text = "select schema_no, settings_hash, makings_hash, journal_n, whole from file_facts"
            return Facts(*rows(con, text)[0])
    except duckdb.Error:
        return None


def _refuse_newer(schema_no: int) -> None:
    if schema_no > SCHEMA_NO:
        raise BookError(
            f"This book was written by a newer Weighbook (its schema is {schema_no}, that of this "
            f"one {SCHEMA_NO}). Use the newer one; nothing was changed."
        )
