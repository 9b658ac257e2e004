"""Seasons that are over: their report, and their statements once a manager approved them."""

from typing import Any

from pipeline.approve import approval, changes, issued_since
from pipeline.book.book import Book, kept_settings
from pipeline.errors import DocumentError, GateError
from pipeline.season.generations import current_path
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.service.chores import Outcome, instant
from pipeline.service.config import ServiceSettings
from pipeline.service.notes import folder, read_note, write_note
from pipeline.upkeep import bring_up_to_date


def closing(book: Book, service: ServiceSettings, at: str) -> Outcome:
    """Go through the seasons whose last day is past; nothing is issued that nobody approved."""
    from pipeline.issue import issue
    from pipeline.service.reports import group_report

    today = service.local(instant(at)).date()
    journal = book.journal()
    settings = kept_settings(journal)
    wrong: list[str] = []
    did: list[dict[str, Any]] = []
    files: list[str] = []
    bring_up_to_date(book, journal, settings)
    for season in seasons_with_sheets(journal, settings):
        last_day = settings.season(season).last_day
        if last_day >= today or current_path(book, season) is None:
            continue
        head = _last_change(book, season)
        known = read_note(book, f"closing/{season}")
        if known.get("reported") != head:
            target = folder(book) / "reports" / f"season-{season}"
            files += group_report(book, journal, settings, season, target)
            write_note(book, f"closing/{season}", {"reported": head, "at": at})
            did.append({"season": season, "did": "season report", "files": len(files)})
        if issued_since(journal, season, head):
            continue
        approved = approval(journal, season)
        if approved is None:
            wrong.append(
                f"Season {season} ended on {last_day}. Its statements wait for a manager: look at "
                f"its report, then run: weighbook approve {book.path} --season {season}"
            )
            continue
        try:
            done = issue(book, season, by=approved.body["by"], at=at)
        except (GateError, DocumentError) as error:
            wrong.append(f"The statements of season {season} are held back. {error}")
            continue
        did.append({"season": season, "did": "statements", "files": done.statements})
        wrong += [
            f"The statement of member {member} waits. {reason}"
            for member, reason in done.withheld.items()
        ]
    says = "; ".join(f"{one['season']}: {one['did']}" for one in did) or "Nothing was to be done."
    return Outcome(says=says, wrong=tuple(wrong), table=tuple(did), files=tuple(files))


def _last_change(book: Book, season: str) -> int:
    """Return the number of the last journal line that changes what a season's statements say."""
    return next((line.n for line in changes(book.journal(), season)), 0)
