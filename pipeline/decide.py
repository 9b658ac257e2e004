"""Takes a decision on a flag into the journal: count the row as it is, amend a cell, or leave it out."""

from dataclasses import dataclass
from typing import Any

from pipeline.book.book import Book, note_settings, now, writing
from pipeline.book.journal import append
from pipeline.errors import DecisionError
from pipeline.intake.kinds import kinds
from pipeline.season.amend import read_value
from pipeline.season.flags import Flag, find_flag, flags
from pipeline.season.generations import must_have
from pipeline.season.tables import connect, rows
from pipeline.settings import Settings
from pipeline.take import bring_up_to_date, seasons_with_sheets

ACTIONS = ("count", "amend", "leave-out")


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """What a decision did: the flag, the action, the state of its row now, and if anything changed."""

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
        season, flag = _find(book, settings, number, seasons_with_sheets(journal, settings))
        _refuse_misfit(flag, action, value)
        body: dict[str, Any] = {
            "season": season,
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
            body["old_value"] = _stored(book, season, flag)
        changed = flag.decision != action
        if changed:
            journal = append(journal, "decided", body, at)
            bring_up_to_date(book, journal, settings)
        return Decided(flag=flag, action=action, state=_state(book, season, flag), changed=changed)


def _find(book: Book, settings: Settings, number: str, seasons: list[str]) -> tuple[str, Flag]:
    misses: list[DecisionError] = []
    for season in seasons:
        with connect(str(must_have(book, season))) as con:
            try:
                return season, find_flag(flags(con, settings.decimals), number)
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


def _stored(book: Book, season: str, flag: Flag) -> str | None:
    stored = kinds()[flag.kind].column(flag.col).stored
    with connect(str(must_have(book, season))) as con:
        found = rows(
            con,
            f"select cast({stored} as varchar) from rows_{flag.kind} "
            "where sheet_no = ? and row_no = ?",
            [flag.sheet_no, flag.row],
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
