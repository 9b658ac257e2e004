"""Finds flags by their numbers, or many alike, and says whose rows they are on."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from typing import TYPE_CHECKING, Any

import duckdb

from checks.rules import BY_CODE
from pipeline.book.book import Book, kept_settings
from pipeline.book.decisions import standing_decisions, told
from pipeline.book.journal import Journal
from pipeline.errors import DecisionError
from pipeline.intake.kinds import kinds
from pipeline.season.flags import Flag, flag_of, flags_begun
from pipeline.season.generations import must_have
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.season.tables import connect, rows
from pipeline.settings import Settings

if TYPE_CHECKING:
    from pipeline.season.amend import Amended


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """A flag and the season whose file holds it."""

    season: str
    flag: Flag

    @property
    def place(self) -> dict[str, Any]:
        """What it is on, as the journal says it. A register's rows stand in every season."""
        flag = self.flag
        return {
            "season": self.season if kinds()[flag.kind].day else "",
            "flag": flag.flag,
            "rule": flag.rule,
            "kind": flag.kind,
            "sheet": flag.sha256,
            "sheet_no": flag.sheet_no,
            "row_no": flag.row,
            "row_key": flag.row_key,
            "col": flag.col,
        }


def find(
    book: Book,
    journal: Journal,
    settings: Settings,
    numbers: Sequence[str],
    *,
    as_written: bool = False,
) -> list[Doubt]:
    """Return the flags whose numbers begin as asked, in that order, each once.

    `as_written`: with their values as their sheets wrote them, and what unknown ones may have been
    meant to be; which takes as long as to work out what is decided. DecisionError where a number
    fits none or several, with what settled it where that is known.
    """
    asked = list(dict.fromkeys(number.replace("-", "").strip().casefold() for number in numbers))
    shown = dict(zip(asked, numbers, strict=False))
    found: dict[str, Doubt] = {}
    for season in seasons_with_sheets(journal, settings):
        with connect(str(must_have(book, season))) as con:
            begun = flags_begun(con, asked)
            full = [row["flag"] for row in begun]
            wanted = {
                number: _one(full, number, shown[number]) for number in asked if number not in found
            }
            hits = {full: number for number, full in wanted.items() if full}
            told = [
                flag_of(row, settings.decimals)
                for row in begun
                if not as_written and row["flag"] in hits
            ]
            if as_written and hits:
                told = _as_written(con, book, settings, list(hits))
            for flag in told:
                found[hits[flag.flag]] = Doubt(season=season, flag=flag)
    for number in asked:
        if number not in found:
            raise DecisionError(_gone(journal, shown[number]))
    return [found[number] for number in asked]


def _as_written(
    con: duckdb.DuckDBPyConnection, book: Book, settings: Settings, numbers: list[str]
) -> list[Flag]:
    # What reads sheets takes long to load.
    from pipeline.season.flag_frame import flags, flags_frame
    from pipeline.season.written import written_cells

    written = partial(written_cells, book, settings.intake.lifted())
    frame = flags_frame(con, numbers)
    return flags(con, settings.decimals, written=written, frame=frame)


def _one(numbers: Sequence[str], wanted: str, shown: str) -> str:
    fitting = [number for number in numbers if number.startswith(wanted)] if wanted else []
    if len(fitting) > 1:
        raise DecisionError(
            f"{len(fitting)} flags begin with {shown}: {', '.join(sorted(fitting)[:4])}. "
            "Type more of the number."
        )
    return fitting[0] if fitting else ""


def _gone(journal: Journal, number: str) -> str:
    """Say why there is no such flag; one that was amended is no longer doubtful."""
    wanted = number.replace("-", "").strip().casefold()
    for line, one in reversed(list(standing_decisions(journal))):
        if wanted and one["flag"].startswith(wanted):
            return (
                f"{told(number, line, one)} Its row is no longer doubtful. To change the cell "
                "again, take the decision back, or send a later version of its sheet."
            )
    return f"There is no flag {number}. A later sheet may have settled it; see: weighbook flags"


def decided_before(journal: Journal, flag: Flag) -> str:
    """Say who decided before on a flag that came back, and how far that decision holds.

    "" where nobody did, or where the decision holds for what the flag judges now.
    """
    same = [found for found in standing_decisions(journal) if found[1]["flag"] == flag.flag]
    if not same or flag.decision:
        return ""
    line, one = same[-1]
    value = f' to "{one["new_value"]}"' if "new_value" in one else ""
    said = (
        f"Decided before by {one['by']} on {line.at[:10]}: {one['action']}{value} "
        f"({one['because']})."
    )
    limit, band = one.get("holds_to"), BY_CODE[flag.rule].band if flag.rule in BY_CODE else None
    if limit is None or flag.measure is None or band is None:
        return f"{said} That was on another value of the cell, so it is asked again."
    if flag.measure <= Decimal(limit):
        return f"{said} The row says something else since, so it is asked again."
    return (
        f"{said} It holds up to {Decimal(limit).normalize():f} ({band.words}); it is "
        f"{flag.measure.normalize():f} now, so it is asked again."
    )


def owners(book: Book, season: str, on: Sequence[Mapping[str, Any]]) -> set[str]:
    """Return the members whose rows some flags are on; `season` "" reads any season's file."""
    journal = book.journal()
    code = season or seasons_with_sheets(journal, kept_settings(journal))[0]
    found: set[str] = set()
    with connect(str(must_have(book, code))) as con:
        for one in on:
            if kinds()[one["kind"]].has("member_no"):
                text = (
                    f"select member_no from rows_{one['kind']} where sheet_no = ? and row_no = ? "
                    "and member_no is not null"
                )
                found |= {no for (no,) in rows(con, text, [one["sheet_no"], one["row_no"]])}
    return found


def stored_now(book: Book, doubt: Doubt) -> Any:
    """Return the value of a flag's cell as the season holds it; None where it was not read."""
    flag = doubt.flag
    with connect(str(must_have(book, doubt.season))) as con:
        found = rows(
            con,
            f"select {kinds()[flag.kind].column(flag.col).stored} from rows_{flag.kind} "
            "where sheet_no = ? and row_no = ?",
            [flag.sheet_no, flag.row],
        )
    return found[0][0] if found else None


def read_for(book: Book, doubt: Doubt, text: str, settings: Settings) -> "Amended":
    """Read a new value for a flag's cell as the reader would in its row; DecisionError where not.

    What a local measure weighs depends on the row's station, form and day.
    """
    from pipeline.season.amend import read_value, row_beside

    flag = doubt.flag
    kind = kinds()[flag.kind]
    with connect(str(must_have(book, doubt.season))) as con:
        beside = row_beside(con, kind, flag.sheet_no, flag.row)
    return read_value(kind, flag.col, text.strip(), settings, beside)


def value_now(book: Book, doubt: Doubt) -> str | None:
    """Return the text of a flag's cell as the season holds it."""
    flag = doubt.flag
    stored = kinds()[flag.kind].column(flag.col).stored
    with connect(str(must_have(book, doubt.season))) as con:
        found = rows(
            con,
            f"select coalesce(cast(r.{stored} as varchar), u.value) from rows_{flag.kind} r "
            "left join unreadable u on u.kind = ? and u.sheet_no = r.sheet_no "
            "and u.row_no = r.row_no and u.col = ? where r.sheet_no = ? and r.row_no = ?",
            [flag.kind, flag.col, flag.sheet_no, flag.row],
        )
    return found[0][0] if found else None
