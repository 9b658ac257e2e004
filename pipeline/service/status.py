"""What a book's service is doing: what runs, what ran last, what is next, what is wrong."""

import shutil
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from pipeline.book.book import Book, kept_settings, now
from pipeline.errors import WeighbookError
from pipeline.inbox import lying
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.service.chores import CHORES, instant
from pipeline.service.config import ServiceSettings, next_time, service_settings
from pipeline.service.measure import held
from pipeline.service.notes import read_note
from pipeline.service.supervise import READY
from pipeline.service.up import runs

LEAST_FREE_BYTES = 2_000_000_000
# Chores are done within the hour; a night that is missing so long after is told.
LATE = timedelta(hours=26)
OLD_BACKUP = timedelta(days=3)
CLOCK_MAY_DIFFER = timedelta(minutes=10)
STUCK_S = 180.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Status:
    """The state of a service. `parts`: its processes; `chores`: last and next of each; `wrong`.

    `ready_after_s`: seconds from the start of `weighbook up` until each part and all were ready;
    `memory_mib`: what each holds now with all that it started, the supervisor too, and their sum.
    """

    book: str
    at: str
    running: bool
    desk: str
    prefect: str
    parts: dict[str, dict[str, Any]]
    ready_after_s: dict[str, float]
    memory_mib: dict[str, float]
    chores: list[dict[str, Any]]
    backups: dict[str, dict[str, Any]]
    wrong: list[str]


def status(book: Book, at: str = "") -> Status:
    """Look at a book's service, running or not; nothing is changed by it."""
    at = at or now()
    wrong: list[str] = []
    service = _settings(book, wrong)
    running = runs(book)
    noted = read_note(book, "up")
    parts: dict[str, dict[str, Any]] = noted.get("children", {}) if running else {}
    wrong += _parts_wrong(book, running, parts)
    chores = [_chore(book, service, name, at) for name in CHORES]
    wrong += [f"{one['chore']}: {what}" for one in chores for what in one["wrong"]]
    backups = read_note(book, "backups")
    wrong += _backups_wrong(service, backups, at)
    wrong += _book_wrong(book, at)
    return Status(
        book=str(book.path),
        at=at,
        running=running,
        desk=noted.get("desk", "") if running else "",
        prefect=noted.get("prefect", "") if running else "",
        parts=parts,
        ready_after_s=_ready_after(parts),
        memory_mib=_memory(noted, parts) if running else {},
        chores=chores,
        backups=backups,
        wrong=wrong,
    )


def _ready_after(parts: dict[str, dict[str, Any]]) -> dict[str, float]:
    """Return when each part was ready for the first time; all together once none is missing."""
    after = {name: float(part["ready_after_s"]) for name, part in parts.items()}
    found = {name: seconds for name, seconds in after.items() if seconds}
    return found | ({"all": max(found.values())} if found and len(found) == len(after) else {})


def _memory(noted: dict[str, Any], parts: dict[str, dict[str, Any]]) -> dict[str, float]:
    # Nothing is noted yet in the first moment.
    found = {"supervisor": held(noted.get("pid", 0), alone=True).memory_mib}
    found |= {name: held(part["pid"]).memory_mib for name, part in parts.items() if part["pid"]}
    found["all"] = sum(found.values())
    return {name: round(mib, 1) for name, mib in found.items()}


def _settings(book: Book, wrong: list[str]) -> ServiceSettings:
    try:
        return service_settings(book)
    except WeighbookError as error:
        from pipeline.service.config import read_service

        wrong.append(str(error))
        return read_service("")


def _parts_wrong(book: Book, running: bool, parts: dict[str, dict[str, Any]]) -> list[str]:
    if not running:
        return [f"The service does not run. Start it with: weighbook up {book.path}"]
    return [
        f"{name} is not ready ({part['state']}"
        + (f"; it {part['last_end']}" if part["last_end"] else "")
        + f"). What it said: {book.path / 'service' / 'logs' / name}.log"
        for name, part in parts.items()
        if part["state"] != READY
    ]


def _chore(book: Book, service: ServiceSettings, name: str, at: str) -> dict[str, Any]:
    done = read_note(book, f"done/{name}")
    local = service.local(instant(at))
    late: list[str] = []
    since = read_note(book, "since").get("at", "")
    started = done.get("at") or since
    if name == "nightly" and started and instant(at) - instant(started) > LATE:
        late = [f"It was not done since {started}."]
    return {
        "chore": name,
        "about": CHORES[name].about,
        "last": done.get("at", ""),
        "ok": done.get("ok"),
        "says": done.get("says", ""),
        "next": next_time(service.times[name], local).isoformat(sep=" ", timespec="minutes"),
        "wrong": [*done.get("wrong", []), *late],
    }


def _backups_wrong(service: ServiceSettings, backups: dict[str, Any], at: str) -> list[str]:
    if not service.backup:
        return ['No backup is declared. Name a place in service.toml: backup = ["/media/usb/..."]']
    wrong: list[str] = []
    for place in service.backup:
        made = backups.get(place, {}).get("at", "")
        if not made:
            wrong.append(f"No backup was made to {place} yet.")
        elif instant(at) - instant(made) > OLD_BACKUP:
            wrong.append(f"The last backup to {place} is of {made}. Is the disk there?")
    return wrong


def _book_wrong(book: Book, at: str) -> list[str]:
    wrong: list[str] = []
    free = shutil.disk_usage(book.path).free
    if free < LEAST_FREE_BYTES:
        wrong.append(f"Only {free / 1e9:.1f} GB are free beside the book. Make room.")
    looked = read_note(book, "inbox")
    if looked.get("trouble"):
        wrong.append(f"The inbox: {looked['trouble']}")
    try:
        stuck = lying(book, still_s=STUCK_S)
        if stuck:
            wrong.append(f"{len(stuck)} files lie in the inbox and were not taken: {stuck[0].name}")
        journal = book.journal()
        kept = kept_settings(journal)
        seasons_with_sheets(journal, kept)
        if journal.torn_bytes:
            wrong.append(
                "The journal ends in half a line, never acknowledged. The next write mends it."
            )
        last = max(line.at for line in journal.lines)
        if instant(last) - instant(at) > CLOCK_MAY_DIFFER:
            wrong.append(
                f"The clock says {at}, but the journal was written to at {last}. Set the clock."
            )
    except WeighbookError as error:
        wrong.append(str(error))
    except OSError as error:
        wrong.append(f"The book cannot be read: {error.strerror}. Look at its disk and rights.")
    return wrong
