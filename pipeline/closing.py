"""Closes a season: its balances are carried over as opening balances of the next one."""

import tempfile
from contextlib import nullcontext
from datetime import date
from pathlib import Path
from typing import Any

from checks.near import MONEY_KINDS
from pipeline.book.book import Book, kept_settings, note_settings, now, writing
from pipeline.book.journal import Journal, append
from pipeline.declared import Season
from pipeline.errors import PostingError
from pipeline.money import money_text
from pipeline.paying import lists_out
from pipeline.posting import post, sheet_text
from pipeline.raises import refuse_alone
from pipeline.season.generations import current_path, must_have
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.season.tables import connect, dicts, rows, season_sql
from pipeline.settings import Settings
from pipeline.take import take
from pipeline.taken import Taken
from pipeline.upkeep import bring_up_to_date

KIND = "opening_balances"


def close_season(
    book: Book, season: str, *, by: str, second: str, day: date | None = None, at: str = ""
) -> tuple[int, Taken]:
    """Carry every member's balances into the next season, by two people; how many members.

    What is owed either way, loans, shares, deductions still due and unclaimed money are carried,
    each as a row of a sheet of the next season; the crops are kept as a sheet of earlier crops.
    From then on sheets of the closed season go back: what was wrong in it is corrected by an entry
    in the open one. PostingError where the season is closed already or an earlier one is open, its
    next one is not declared, coffee or money of it still waits, or a payment list is still out.
    """
    at = at or now()
    with writing(book):
        journal, settings = note_settings(book, book.journal(), at)
        refuse_alone(settings, by, second)
        bring_up_to_date(book, journal, settings)
        following = _following(settings, season)
        if season in closed_seasons(journal):
            raise PostingError(f"Season {season} is closed already.")
        _refuse_earlier(journal, settings, season)
        with connect(str(must_have(book, season))) as con:
            _refuse_waiting(con, season)
            _refuse_out(book, journal, season, following, con)
            found = _carried(con, following)
            crops = dicts(con, season_sql("season_crops"))
            last = rows(con, "select coalesce(max(sheet_no), 0) from sheets")[0][0]
    # A sheet of balances on a day to come would wait: it comes in on the day it speaks for.
    day = max(day or date.fromisoformat(at[:10]), following.first_day)
    content = sheet_text(KIND, [_line(row, season, following, settings) for row in found])
    name = f"opening_balances_{following.code}_from_{season}.csv"
    about: dict[str, object] = {"season": following.code, "closes": season}
    taken = post(book, name, KIND, content, by=by, second=second, about=about, day=day, at=at)
    _keep_crops(book, season, [_crop(row, settings) for row in crops], by=by, day=day, at=at)
    with writing(book):
        body = {"season": season, "last_sheet": last, "sheet": name, "by": by, "second": second}
        append(book.journal(), "closed", body, at)
    return len({row["member_no"] for row in found}), taken


def _keep_crops(
    book: Book, season: str, lines: list[dict[str, str]], *, by: str, day: date, at: str
) -> None:
    """Keep a season's crops as a sheet, so that every later season has them by the journal."""
    if not lines:
        return
    with tempfile.TemporaryDirectory(prefix="weighbook-close-") as folder:
        path = Path(folder) / f"past_crops_{season}.csv"
        path.write_bytes(sheet_text("past_crops", lines))
        take(book, [path], by=by, day=day, at=at)


def closed_seasons(journal: Journal) -> dict[str, int]:
    """Return each season that is closed, with the number of its last sheet."""
    return {
        line.body["season"]: line.body["last_sheet"]
        for line in journal.lines
        if line.what == "closed"
    }


def changed_since(book: Book) -> list[str]:
    """Return a sentence for each closed season whose balances are no longer those carried over."""
    journal = book.journal()
    settings = kept_settings(journal)
    faults: list[str] = []
    for season in closed_seasons(journal):
        following = _following(settings, season)
        with connect(str(must_have(book, season))) as con:
            now_owed = {
                tuple(row[name] for name in _NAMES): row["amount_minor"]
                for row in _carried(con, following)
            }
        with connect(str(must_have(book, following.code))) as con:
            document = {"document": f"season {season}"}
            carried = {tuple(key): amount for *key, amount in rows(con, _CARRIED_ROWS, document)}
        names = now_owed.keys() | carried.keys()
        differ = sorted((key for key in names if now_owed.get(key) != carried.get(key)), key=str)
        faults += [
            f"Season {season} was carried over with another {of.replace('_', ' ')} of member {no} "
            "than it has now."
            for no, of, *_ in differ[:3]
        ]
    return faults


# What names a balance that is carried over.
_NAMES = ("member_no", "balance_of", "deduction", "authority")
_CARRIED_ROWS = (
    f"select {', '.join(_NAMES)}, amount_minor from opening_balances "
    "where state = 'counted' and document = $document"
)


def _carried(con: Any, following: Season) -> list[dict[str, Any]]:
    """Return what goes over into the next season; inputs given for another one stay."""
    found = dicts(con, season_sql("carried"))
    return [row for row in found if row["for_season"] in (None, following.code)]


def _following(settings: Settings, season: str) -> Season:
    closing = settings.season(season)
    later = [one for one in settings.seasons if one.first_day > closing.last_day]
    if not later:
        raise PostingError(
            f"book.toml declares no season after {season}. Add a [[season]] to carry balances into."
        )
    return min(later, key=lambda one: one.first_day)


def _refuse_earlier(journal: Journal, settings: Settings, season: str) -> None:
    """Refuse while the season before is open: its balances could be carried nowhere any more."""
    closed, begins = closed_seasons(journal), settings.season(season).first_day
    for code in seasons_with_sheets(journal, settings):
        if code not in closed and settings.season(code).last_day < begins:
            raise PostingError(
                f"Season {code} came before and is still open. Close it first: what it carries "
                f"over comes into season {season}, which takes no sheets once it is closed."
            )


def _refuse_waiting(con: Any, season: str) -> None:
    said: list[str] = []
    for kind in MONEY_KINDS:
        if kind == "members":
            continue
        ((count,),) = rows(con, season_sql("waiting_money").replace("$kind", kind))
        if count:
            said.append(f"{count} {kind.replace('_', ' ')}")
    if said:
        raise PostingError(
            f"{' and '.join(said)} of season {season} wait or went back. List them with weighbook "
            "flags and settle each with weighbook decide, or send a corrected sheet: after closing "
            "they can only be put right by entries in the next season."
        )


def _refuse_out(book: Book, journal: Journal, season: str, following: Season, con: Any) -> None:
    """Refuse to carry over what a list will still pay: the next season would pay it again."""
    path = current_path(book, following.code)
    with nullcontext() if path is None else connect(str(path)) as later:
        out = lists_out(journal, season, con, *([later] if later else []))
    if out:
        no, (list_no, member, _) = next(iter(out.items()))
        raise PostingError(
            f"Payment list {list_no} is still out: its payment {no} to member {member} does not "
            f"count yet, {len(out)} of season {season} in all. Take in what was paid and settle "
            "what waits, or withdraw the list; carried over, it would be paid again."
        )


def _line(
    row: dict[str, Any], season: str, following: Season, settings: Settings
) -> dict[str, str]:
    return {
        "member_no": row["member_no"],
        "day": str(following.first_day),
        "balance_of": row["balance_of"].replace("_", " "),
        "amount": money_text(row["amount_minor"], settings.decimals).replace(",", ""),
        "document": f"season {season}",
        "deduction": row["deduction"] or "",
        "authority": row["authority"] or "",
    }


def _crop(row: dict[str, Any], settings: Settings) -> dict[str, str]:
    cells = {name: "" if cell is None else str(cell) for name, cell in row.items()}
    for name in ("value", "value_best"):
        minor = row["best_minor" if name == "value_best" else "value_minor"]
        if minor is not None:
            cells[name] = money_text(minor, settings.decimals).replace(",", "")
    return cells
