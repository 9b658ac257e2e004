"""A drawn season to measure with: its sheets, and the book that took them week by week."""

from pathlib import Path

from pipeline.book.book import Book, new_book
from pipeline.intake.kinds import kinds
from pipeline.samples.__main__ import write
from pipeline.samples.sheets import by_week
from pipeline.take import take_by_day

WEEKS, STATIONS, SEED = 26, 40, 7
AT = "2026-12-01T08:00:00Z"
SEASON = "2026"


def write_season(folder: Path, members: int, deliveries: int) -> None:
    """Write the sheets of a season of so many deliveries, each a receipt of one line or more."""
    write(
        folder,
        people=members,
        weeks=WEEKS,
        seed=SEED,
        per_member=deliveries / members,
        places=max(1, min(STATIONS, members // 100)),
    )


def by_kind(folder: Path) -> dict[str, list[Path]]:
    """Return the season's sheets by kind, as their names begin."""
    found: dict[str, list[Path]] = {}
    names = kinds()
    for path in sorted((folder / "season").glob("*/*.csv")):
        kind = next(begun for begun in _beginnings(path.stem) if begun in names)
        found.setdefault(kind, []).append(path)
    return found


def _beginnings(stem: str) -> list[str]:
    parts = stem.split("_")
    return ["_".join(parts[:count]) for count in range(len(parts), 0, -1)]


def take_season(folder: Path, book: Path) -> Book:
    """Take the season's sheets into a new book."""
    made = new_book(book, (folder / "book.toml").read_text("utf-8"), AT)
    take_by_day(made, by_week(folder / "season"), by="bench", at=AT)
    return made


def cut_week(folder: Path, most: int) -> list[Path]:
    """Lay the season's last week apart and keep its first weighings; return their sheets.

    `most`: so many rows at most, the same number from each station.
    """
    last = max((folder / "season").glob("20*"))
    week = folder / "next" / last.name
    (folder / "next" / "register").mkdir(parents=True)
    last.rename(week)
    sheets = sorted(week.glob("weighings_*.csv"))
    for path in set(week.iterdir()) - set(sheets):
        path.unlink()
    for path in sheets:
        lines = path.read_text("utf-8").splitlines(keepends=True)
        path.write_text("".join(lines[: 1 + most // len(sheets)]), "utf-8", newline="\n")
    return sheets
