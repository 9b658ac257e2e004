"""Takes a decision on a flag: count the row as it is, amend a cell, or leave the row out."""

from dataclasses import dataclass
from functools import partial
from typing import Any

import polars as pl

from pipeline.book.book import Book, note_settings, now, writing
from pipeline.book.journal import Journal, append
from pipeline.errors import DecisionError
from pipeline.intake.kinds import kinds
from pipeline.season.amend import read_value
from pipeline.season.flags import Flag, find_flag, flags
from pipeline.season.generations import must_have
from pipeline.season.tables import connect, rows
from pipeline.season.written import written_cells
from pipeline.settings import Settings
from pipeline.upkeep import bring_up_to_date, seasons_with_sheets

ACTIONS = ("count", "amend", "leave-out")


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """What a decision did: the state of the flag's row now, and whether anything changed."""

    flag: Flag
    action: str
    state: str
    changed: bool


def decide(
    book: Book,
    number: str,
    action: str,
    *,
    because: str,
    by: str,
    value: str | None = None,
    at: str = "",
) -> Decided:
    """Decide a flag by its number; the decision is safe when its journal line is written.

    DecisionError where the flag is unknown, the reason empty, or the action does not fit the flag.
    The same decision again changes nothing; another one takes the place of the earlier.
    """
    at = at or now()
    if not because.strip():
        raise DecisionError("A decision needs a reason. Say why with --because.")
    with writing(book):
        journal, settings = note_settings(book, book.journal(), at)
        bring_up_to_date(book, journal, settings)
        try:
            season, flag = _find(book, settings, number, seasons_with_sheets(journal, settings))
        except DecisionError:
            _refuse_settled(journal, number)
            raise
        _refuse_misfit(flag, action, value)
        body: dict[str, Any] = {
            # A register's rows stand in every season, and so does a decision on them.
            "season": season if kinds()[flag.kind].day else "",
            "flag": flag.flag,
            "rule": flag.rule,
            "kind": flag.kind,
            "sheet": flag.sha256,
            "sheet_no": flag.sheet_no,
            "row_no": flag.row,
            "row_key": flag.row_key,
            "col": flag.col,
            "value_hash": flag.value_hash,
            "action": action,
            "because": because.strip(),
            "by": by,
        }
        if action == "amend":
            assert value is not None
            read_value(kinds()[flag.kind], flag.col, value.strip(), settings)
            body["new_value"] = value.strip()
            body["old_value"] = _value_now(book, season, flag)
        changed = flag.decision != action
        if changed:
            journal = append(journal, "decided", body, at)
            bring_up_to_date(book, journal, settings)
        return Decided(flag=flag, action=action, state=_state(book, season, flag), changed=changed)


def _refuse_settled(journal: Journal, number: str) -> None:
    """Say so where a flag is gone because it was amended: the row is no longer doubtful."""
    wanted = number.replace("-", "").strip().casefold()
    for line in reversed(journal.lines):
        if line.what == "decided" and wanted and line.body["flag"].startswith(wanted):
            body = line.body
            value = f' to "{body["new_value"]}"' if "new_value" in body else ""
            raise DecisionError(
                f"{number} was decided on {line.at[:10]} by {body['by']}: {body['action']}{value} "
                f"({body['because']}). Its row is no longer doubtful. To change the cell again, "
                "send a later version of its sheet."
            )


def _find(book: Book, settings: Settings, number: str, seasons: list[str]) -> tuple[str, Flag]:
    misses: list[DecisionError] = []
    written = partial(written_cells, book, settings.intake.lifted())
    for season in seasons:
        with connect(str(must_have(book, season))) as con:
            try:
                found = find_flag(flags(con, settings.decimals), number).flag
                only = pl.col("flag") == found
                (flag,) = flags(con, settings.decimals, written=written, only=only)
                return season, flag
            except DecisionError as miss:
                misses.append(miss)
    raise misses[-1]


def _refuse_misfit(flag: Flag, action: str, value: str | None) -> None:
    if action not in ACTIONS:
        raise DecisionError(f"There is no action {action!r}. Choose one of: {', '.join(ACTIONS)}.")
    if action == "count" and flag.severity == "send_back":
        raise DecisionError(
            f"{flag.place}: this row cannot be counted as it stands. {flag.do} "
            "Amend it, leave it out, or send a corrected sheet."
        )
    if action == "amend":
        if value is None or not value.strip():
            raise DecisionError("An amendment needs the right value. Give it with --value.")
        if flag.col in ("", "beyond") or flag.rule == "missing-column":
            raise DecisionError(
                f"{flag.place}: no single cell is in question here. Count it or leave it out, "
                "or send a corrected sheet."
            )
    elif value is not None:
        raise DecisionError(f"--value goes with amend, not with {action}.")


def _value_now(book: Book, season: str, flag: Flag) -> str | None:
    stored = kinds()[flag.kind].column(flag.col).stored
    with connect(str(must_have(book, season))) as con:
        found = rows(
            con,
            f"select coalesce(cast(r.{stored} as varchar), u.value) from rows_{flag.kind} r "
            "left join unreadable u on u.kind = ? and u.sheet_no = r.sheet_no "
            "and u.row_no = r.row_no and u.col = ? where r.sheet_no = ? and r.row_no = ?",
            [flag.kind, flag.col, flag.sheet_no, flag.row],
        )
    return found[0][0] if found else None


def _state(book: Book, season: str, flag: Flag) -> str:
    with connect(str(must_have(book, season))) as con:
        found = rows(
            con,
            f"select state from {flag.kind} where sheet_no = ? and row_no = ?",
            [flag.sheet_no, flag.row],
        )
    return str(found[0][0]) if found else "left_out"
