"""Decides flags: count the row as it is, amend a cell, or leave the row out; and takes it back."""

from collections.abc import Sequence
from contextlib import ExitStack, suppress
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import duckdb

from pipeline.book.book import Book, note_settings, now, writing
from pipeline.book.decisions import standing_decisions, told
from pipeline.book.journal import Journal, Line, append
from pipeline.doubtful import Doubt, find, owners, read_for, value_now
from pipeline.errors import BookError, DecisionError
from pipeline.raises import ACCOUNT_RULES, refuse_raising_alone, refuse_sender
from pipeline.season.flags import Flag
from pipeline.season.generations import must_have
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.season.tables import connect, connect_beside, rows
from pipeline.settings import Settings
from pipeline.upkeep import bring_up_to_date

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
    second: str = "",
    at: str = "",
) -> Decided:
    """Decide a flag by its number; the decision is safe when its journal line is written.

    DecisionError where the flag is unknown, the reason or the name empty, the row the person's own
    or a relative's, the action does not fit the flag, or somebody else decided it before. The same
    decision again changes nothing; another one by the same person takes the place of the earlier.
    """
    return decide_alike(
        book, [number], action, because=because, by=by, value=value, second=second, at=at
    )[0]


def decide_alike(
    book: Book,
    numbers: Sequence[str],
    action: str,
    *,
    because: str,
    by: str,
    value: str | None = None,
    second: str = "",
    at: str = "",
) -> list[Decided]:
    """Decide many flags in one way and for one reason: all of them, or none where one refuses.

    `second`: who agrees; needed where an amendment raises an amount or changes an account. States
    and money follow at once; in a large season comparisons wait for the service, or for who reads
    them.
    """
    at = at or now()
    with writing(book), ExitStack() as held:
        journal, settings = note_settings(book, book.journal(), at)
        files = dict[Path, duckdb.DuckDBPyConnection]()
        for season in seasons_with_sheets(journal, settings):
            # What is open already is opened again at no cost; a damaged file is made anew below.
            with suppress(duckdb.Error, BookError):
                path = must_have(book, season)
                files[path] = held.enter_context(connect(str(path)))
        bring_up_to_date(book, journal, settings, at_once=True)
        if action == "amend" and value and value.strip():
            asked = find(book, journal, settings, numbers)
            amended = [doubt for doubt in asked if action in fitting(doubt.flag)]
            refuse_raising_alone(book, settings, amended, value, by, second)
        journal, doubts, changed = record(
            book,
            journal,
            settings,
            numbers,
            action,
            because=because,
            by=by,
            value=value,
            second=second,
            at=at,
        )
        if changed:
            bring_up_to_date(book, journal, settings, at_once=True)
        for path in {must_have(book, doubt.season) for doubt in doubts} - files.keys():
            files[path] = held.enter_context(connect_beside(files.values(), str(path)))
        return [
            Decided(
                flag=doubt.flag,
                action=action,
                state=_state(files[must_have(book, doubt.season)], doubt.flag),
                changed=doubt.flag.flag in changed,
            )
            for doubt in doubts
        ]


def record(
    book: Book,
    journal: Journal,
    settings: Settings,
    numbers: Sequence[str],
    action: str,
    *,
    because: str,
    by: str,
    value: str | None = None,
    second: str = "",
    at: str,
) -> tuple[Journal, list[Doubt], set[str]]:
    """Write the journal line of a decision, for one who holds the book; nothing is worked out yet.

    The season files may lack earlier decisions and, unless it amends, sheets: what is decided on is
    the value that was seen. `second`: who signed it beside the one who decides. Returns the
    journal, the flags, and which of them changed.
    """
    refuse_nameless(because, by)
    if action not in ACTIONS:
        raise DecisionError(f"There is no action {action!r}. Choose one of: {', '.join(ACTIONS)}.")
    if not numbers:
        raise DecisionError("No flag is named. Name one at least; see: weighbook flags")
    doubts = find(book, journal, settings, numbers)
    for name in (by, second):
        _refuse_own(book, settings, doubts, name)
    on: list[dict[str, Any]] = []
    for doubt in doubts:
        _refuse_misfit(doubt.flag, action, value)
        if doubt.flag.rule in ACCOUNT_RULES and action == "count":
            refuse_sender(journal, settings, doubt, by)
        before = _decided_before(journal, doubt)
        if before is not None and before[1]["action"] == action and action != "amend":
            continue
        if before is not None and before[1]["by"].casefold() != by.strip().casefold():
            raise DecisionError(f"{told(doubt.flag.short, *before)} Take that back first.")
        on.append(_judged(book, settings, doubt, action, value))
    if on:
        body = {"action": action, "because": because.strip(), "by": by.strip(), "on": on}
        body |= {"second": second.strip()} if second else {}
        journal = append(journal, "decided", body, at)
    return journal, doubts, {one["flag"] for one in on}


def take_back(book: Book, number: str, *, because: str, by: str, at: str = "") -> Line:
    """Take back the last decision on a flag, which is then as it was before; return what it was.

    DecisionError where no decision on it stands, or the reason or the name is empty.
    """
    at = at or now()
    with writing(book):
        journal, settings = note_settings(book, book.journal(), at)
        journal, line = record_take_back(
            book, journal, settings, number, because=because, by=by, at=at
        )
        bring_up_to_date(book, journal, settings, at_once=True)
        return line


def record_take_back(
    book: Book,
    journal: Journal,
    settings: Settings,
    number: str,
    *,
    because: str,
    by: str,
    at: str,
) -> tuple[Journal, Line]:
    """Write the journal line that takes a decision back, for one who holds the book."""
    refuse_nameless(because, by)
    wanted = number.replace("-", "").strip().casefold()
    found = [
        (line, one)
        for line, one in standing_decisions(journal)
        if wanted and one["flag"].startswith(wanted)
    ]
    if not found:
        raise DecisionError(f"No decision on {number} stands, so there is none to take back.")
    if len({one["flag"] for _, one in found}) > 1:
        raise DecisionError(f"Several decisions begin with {number}. Type more of the number.")
    line, one = found[-1]
    refuse_near(settings, by, owners(book, one["season"], [one]))
    body = {
        "of": line.n,
        "flag": one["flag"],
        "season": one["season"],
        "action": one["action"],
        "because": because.strip(),
        "by": by.strip(),
    }
    return append(journal, "taken-back", body, at), line


def refuse_nameless(
    words: str, by: str, *, what: str = "decision", needs: str = "a reason", option: str = "because"
) -> None:
    """Refuse a decision, or `what` else is written down, without words or in nobody's name."""
    if not words.strip():
        raise DecisionError(f"A {what} needs {needs}. Give it in words with --{option}.")
    if not by.strip():
        raise DecisionError(f"A {what} needs a name. Say whose it is with --by.")


def refuse_near(settings: Settings, by: str, members: set[str]) -> None:
    """Refuse to let somebody decide on rows of their own or of a declared relative."""
    person = settings.person(by)
    if person and (own := sorted(person.near & members)):
        raise DecisionError(
            f"Member {own[0]} is {person.name} or a declared relative. Nobody decides on such "
            "rows: ask somebody else to."
        )


def _refuse_own(book: Book, settings: Settings, doubts: Sequence[Doubt], by: str) -> None:
    person = settings.person(by)
    if person and person.near:
        for season in dict.fromkeys(doubt.season for doubt in doubts):
            on = [doubt.place for doubt in doubts if doubt.season == season]
            refuse_near(settings, by, owners(book, season, on))


def _decided_before(journal: Journal, doubt: Doubt) -> tuple[Line, dict[str, Any]] | None:
    """Return the last decision that stands on the very value that a flag judges now."""
    same = [found for found in standing_decisions(journal) if _holds(found[1], doubt.flag)]
    return same[-1] if same else None


def _holds(one: dict[str, Any], flag: Flag) -> bool:
    """Tell whether a decision is on a flag as it stands now, as `decided_flags.sql` does."""
    if one["flag"] != flag.flag or one["value_hash"] != flag.value_hash:
        return False
    to = one.get("holds_to")
    return to is None or (flag.measure is not None and flag.measure <= Decimal(to))


def _judged(
    book: Book, settings: Settings, doubt: Doubt, action: str, value: str | None
) -> dict[str, Any]:
    flag = doubt.flag
    one: dict[str, Any] = doubt.place | {"value_hash": flag.value_hash}
    if flag.holds_to is not None:
        one["holds_to"] = str(flag.holds_to)
    if action == "amend":
        assert value is not None
        amended = read_for(book, doubt, value, settings)
        one["new_value"] = value.strip()
        if amended.unit:
            one |= {"reads": str(amended.value), "unit": amended.unit, "worth": amended.worth}
        one["old_value"] = value_now(book, doubt)
    return one


def fitting(flag: Flag) -> list[str]:
    """Return the actions that a flag can be decided with."""
    no_cell = flag.col in ("", "beyond") or flag.rule == "missing-column"
    unfit = {"count": flag.severity == "send_back", "amend": no_cell}
    return [action for action in ACTIONS if not unfit.get(action)]


def _refuse_misfit(flag: Flag, action: str, value: str | None) -> None:
    fits = action in fitting(flag)
    if action == "count" and not fits:
        raise DecisionError(
            f"{flag.place}: this row cannot be counted as it stands. {flag.do} "
            "Amend it, leave it out, or send a corrected sheet."
        )
    if action == "amend":
        if value is None or not value.strip():
            raise DecisionError("An amendment needs the right value. Give it with --value.")
        if not fits:
            raise DecisionError(
                f"{flag.place}: no single cell is in question here. Count it or leave it out, "
                "or send a corrected sheet."
            )
    elif value is not None:
        raise DecisionError(f"--value goes with amend, not with {action}.")


def _state(con: duckdb.DuckDBPyConnection, flag: Flag) -> str:
    text = f"select state from {flag.kind} where sheet_no = ? and row_no = ?"
    return next((state for (state,) in rows(con, text, [flag.sheet_no, flag.row])), "left_out")
