"""The night's work: seasons up to date, checks with history, the book proven and backed up."""

from dataclasses import asdict
from typing import Any

from pipeline.book.book import Book, kept_settings
from pipeline.errors import WeighbookError
from pipeline.season.generations import current_path
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.season.tables import connect
from pipeline.service.chores import Outcome
from pipeline.service.config import ServiceSettings
from pipeline.service.notes import add_line, read_note, write_note
from pipeline.upkeep import bring_up_to_date

# Three years of nights.
HISTORY = 1100


def nightly(book: Book, service: ServiceSettings, at: str) -> Outcome:
    """Do the night's work; one part that fails does not keep the others from being done."""
    from pipeline.verify import verify

    journal = book.journal()
    bring_up_to_date(book, journal, kept_settings(journal))
    wrong, lines = check_seasons(book, at)
    proof = verify(book)
    broken = {name: p["faults"] for name, p in proof["promises"].items() if not p["ok"]}
    for name, faults in broken.items():
        wrong.append(f"A promise is broken, {name.replace('_', ' ')}: {'; '.join(faults[:3])}")
    add_line(
        book,
        "verify",
        {"at": at, "journal_n": journal.head[0], "ok": proof["ok"], "broken": broken},
        most=HISTORY,
    )
    made = [] if broken else _back_up(book, service, at, wrong)
    says = (
        f"{sum(line['checks'] for line in lines)} checks, {len(proof['promises'])} promises "
        f"proven, {len(made)} backups made."
    )
    return Outcome(says=says, wrong=tuple(wrong), table=tuple([*lines, *made]))


def check_seasons(book: Book, at: str) -> tuple[list[str], list[dict[str, Any]]]:
    """Judge every season by the gate and keep the result; return what holds, and a line each."""
    from checks.gate import run_gate

    journal = book.journal()
    settings = kept_settings(journal)
    wrong: list[str] = []
    lines: list[dict[str, Any]] = []
    for season in seasons_with_sheets(journal, settings):
        path = current_path(book, season)
        if path is None:
            continue
        with connect(str(path)) as con:
            checks = run_gate(con, settings.gate)
        failing = [check for check in checks if not check.ok]
        add_line(
            book,
            f"checks-{season}",
            {
                "at": at,
                "journal_n": journal.head[0],
                "checks": len(checks),
                "failing": [asdict(check) for check in failing],
            },
            most=HISTORY,
        )
        stopping = [check for check in failing if check.stops]
        wrong += [
            f"Season {season}, {check.name}: {check.looked_at}, {check.observed} "
            f"({check.allowed}). {_stops(check.stops)}"
            for check in stopping
        ]
        lines.append(
            {
                "season": season,
                "checks": len(checks),
                "failing": len(failing),
                "stopping": len(stopping),
            }
        )
    return wrong, lines


def _stops(stops: str) -> str:
    return "Nothing is issued until it holds." if stops == "all" else "Statements of it wait."


def _back_up(
    book: Book, service: ServiceSettings, at: str, wrong: list[str]
) -> list[dict[str, Any]]:
    """Back the book up to every place declared; a place that fails is told, the others are made."""
    from pipeline.backup.backup import back_up
    from pipeline.backup.seal import read_key

    made: list[dict[str, Any]] = []
    known = read_note(book, "backups")
    for place in service.backup:
        try:
            done = back_up(book, place, key=read_key(service.backup_key_file), at=at)
        except (WeighbookError, OSError) as error:
            wrong.append(f"No backup was made to {place}: {error}")
            known[place] = {**known.get(place, {}), "failed_at": at, "trouble": str(error)}
            continue
        made.append({"backup": place, "snapshot": done.snapshot, "new_bytes": done.new_bytes})
        known[place] = {"at": at, "snapshot": done.snapshot}
    write_note(book, "backups", known)
    return made
