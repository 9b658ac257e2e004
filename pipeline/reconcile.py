"""Payments beside the lines of bank, mobile money and cash book: what agrees and what is open."""

from dataclasses import dataclass
from typing import Any

from pipeline.book.book import Book
from pipeline.season.generations import must_have
from pipeline.season.tables import connect, dicts, season_sql

# Days that a bank may take; common practice, no source.
DAYS = 5
AGREE = ("named", "member, sum and days", "sum and days")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reconciled:
    """Every payment and line once: `rows` as the query gives them, sums by method and how."""

    rows: tuple[dict[str, Any], ...]
    sums: tuple[dict[str, Any], ...]

    @property
    def open(self) -> tuple[dict[str, Any], ...]:
        """What has no counterpart, or one of another sum."""
        return tuple(row for row in self.rows if row["why"] not in AGREE)


def reconcile(book: Book, season: str, days: int = DAYS) -> Reconciled:
    """Match a season's payments with its accounts' lines; `days`: how far apart they may be."""
    with connect(str(must_have(book, season))) as con:
        found = dicts(con, season_sql("bank_matches"), {"days": days})
    sums: dict[tuple[str, str], dict[str, Any]] = {}
    for row in found:
        into = sums.setdefault(
            (row["method"], row["why"]),
            {"method": row["method"], "why": row["why"], "count": 0}
            | {"paid_minor": 0, "line_minor": 0},
        )
        into["count"] += 1
        for side in ("paid_minor", "line_minor"):
            into[side] += row[side] or 0
    return Reconciled(rows=tuple(found), sums=tuple(sums.values()))
