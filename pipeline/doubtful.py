"""Finds flags by their numbers, or many alike, and says whose rows they are on."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import partial
from typing import Any

import duckdb
import polars as pl

from checks.rules import BY_CODE
from pipeline.book.book import Book, kept_settings
from pipeline.book.decisions import standing_decisions, told
from pipeline.book.journal import Journal
from pipeline.errors import DecisionError
from pipeline.intake.kinds import kinds
from pipeline.season.amend import Amended, read_value, row_beside
from pipeline.season.flags import Flag, flags, flags_frame
from pipeline.season.generations import current_path, must_have
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.season.tables import connect, rows
from pipeline.season.written import written_cells
from pipeline.settings import Settings


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


def find(book: Book, journal: Journal, settings: Settings, numbers: Sequence[str]) -> list[Doubt]:
    """Return the flags whose numbers begin as asked, in that order, each once.

    DecisionError where a number fits none or several, with what settled it where that is known.
    """
    asked = list(dict.fromkeys(number.replace("-", "").strip().casefold() for number in numbers))
    shown = dict(zip(asked, numbers, strict=False))
    found: dict[str, Doubt] = {}
    for season in seasons_with_sheets(journal, settings):
        with connect(str(must_have(book, season))) as con:
            frame = flags_frame(con, asked)
            wanted = {
                number: _one(frame["flag"], number, shown[number])
                for number in asked
                if number not in found
            }
            hits = {full: number for number, full in wanted.items() if full}
            if not hits:
                continue
            written = partial(written_cells, book, settings.intake.lifted())
            only = pl.col("flag").is_in(list(hits))
            for flag in flags(con, settings.decimals, written=written, only=only, frame=frame):
                found[hits[flag.flag]] = Doubt(season=season, flag=flag)
    for number in asked:
        if number not in found:
            raise DecisionError(_gone(journal, shown[number]))
    return [found[number] for number in asked]


def _one(numbers: pl.Series, wanted: str, shown: str) -> str:
    fitting = numbers.filter(numbers.str.starts_with(wanted)).to_list() if wanted else []
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


def alike(book: Book, rule: str, *, station: str = "", day: date | None = None) -> list[str]:
    """Return the numbers of the open flags of a rule, of a station's sheets and of one day."""
    journal = book.journal()
    settings = kept_settings(journal)
    found: dict[str, None] = {}
    for season in seasons_with_sheets(journal, settings):
        path = current_path(book, season)
        if path is None:
            continue
        with connect(str(path)) as con:
            of_rule = flags_frame(con).filter(
                (pl.col("rule") == rule)
                & pl.col("decision").is_null()
                & ((pl.col("station") == station) | pl.lit(not station))
            )
            days = flag_days(con, of_rule) if day else {}
            for number in of_rule["flag"]:
                if day is None or days.get(number) == day:
                    found[number] = None
    return list(found)


def flag_days(con: duckdb.DuckDBPyConnection, frame: pl.DataFrame) -> dict[str, date]:
    """Return the civil day of each flag's row, for those whose kind has one."""
    found: dict[str, date] = {}
    for (name,), some in frame.group_by("kind"):
        kind = kinds()[str(name)]
        if kind.day:
            places = {(row["sheet_no"], row["row_no"]): row["flag"] for row in some.to_dicts()}
            text = (
                f"select sheet_no, row_no, {kind.day} from rows_{kind.name} "
                "where sheet_no in (select unnest(?)) and row_no in (select unnest(?))"
            )
            sheets, numbers = some["sheet_no"].to_list(), some["row_no"].to_list()
            for sheet_no, row_no, on in rows(con, text, [sheets, numbers]):
                if (sheet_no, row_no) in places:
                    found[places[sheet_no, row_no]] = on
    return found


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


def read_for(book: Book, doubt: Doubt, text: str, settings: Settings) -> Amended:
    """Read a new value for a flag's cell as the reader would in its row; DecisionError where not.

    What a local measure weighs depends on the row's station, form and day.
    """
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
