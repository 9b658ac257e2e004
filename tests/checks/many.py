"""Rows for rules that look at many rows together, and what such a book's rules found."""

from collections.abc import Iterable, Mapping
from datetime import date
from itertools import count
from pathlib import Path

from pipeline.book.book import Book
from tests.checks.cases import CHECK_SETTINGS
from tests.take.small import ask, made, number, sheet, taken

# Rules whose finding is about many rows: they have books of their own, and are told apart there.
OF_MANY = frozenset(
    {
        "not-posted-by-two",
        "account-changed",
        "account-given-later",
        "season-closed",
        "last-digits-rounded",
        "last-digits-uneven",
        "weights-unlike-scale",
        "weight-beside-record",
        "weight-beside-lot-card",
        "line-beside-lot-card",
        "receipt-of-other-member",
        "receipt-of-two-forms",
        "planted-year-changed",
        "trees-differ-from-last-count",
        "same-weight-again",
        "moisture-copied",
        "moisture-always-same",
        "tare-odd",
        "scale-drifted",
        "station-gained",
        "weight-point-lost",
        "weight-point-slipped",
        "weight-in-pounds",
        "weight-of-other-form",
        "receipt-gap",
        "void-receipt-used",
        "receipt-out-of-order",
        "receipt-of-two-days",
        "bunched-at-price",
        "sheet-late",
        "one-bringer-for-several",
        "yield-far-above-peers",
        "yield-far-below-peers",
        "cost-far-from-peers",
        "labour-far-from-peers",
        "labour-over-day",
        "picked-before-waiting-over",
        "payment-without-delivery",
    }
)

Row = dict[str, str]
_numbers = count(1)


def kg(value: float) -> str:
    """A weight as a scale of 0.1 kg shows it."""
    return f"{value:.1f}"


def weighed(net: float, **cells: str) -> Row:
    """A weighing of a net weight with a tare of 1.0 kg, on the next receipt of one long book."""
    own = {"gross_kg": kg(net + 1), "tare_kg": "1.0", "net_kg": kg(net)}
    return own | {"receipt_no": str(next(_numbers))} | cells


def by_week(rows: list[Row]) -> dict[str, list[Row]]:
    """Rows with a day by the week that their sheet is named for; others under no week."""
    weeks: dict[str, list[Row]] = {}
    for row in rows:
        week = date.fromisoformat(row["day"]).strftime("_%G-W%V") if "day" in row else ""
        weeks.setdefault(week, []).append(row)
    return weeks


def book_of(folder: Path, members: Iterable[str], kinds: Mapping[str, list[Row]]) -> Book:
    """A book of these rows, with the price of parchment and the members named."""
    book = made(folder / "book", CHECK_SETTINGS)
    paths = [
        sheet(folder, "members.csv", "members", [{"member_no": no} for no in members]),
        *(
            sheet(folder, f"{kind}{week}.csv", kind, rows)
            for kind, all_rows in kinds.items()
            for week, rows in by_week(all_rows).items()
        ),
    ]
    if "prices" not in kinds:
        fresh = {"form": "fresh cherry", "price_per_kg": "0.2000"}
        paths.append(sheet(folder, "prices.csv", "prices", [{}, fresh]))
    taken(book, *paths)
    return book


def found(book: Book, rule: str, fact: str) -> list[str]:
    """One fact of each flag of a rule, sorted."""
    rows = ask(book, "select facts ->> $1 from flags where rule = $2", fact, rule)
    return sorted(str(value) for (value,) in rows)


def people(first: int, many: int) -> list[str]:
    """Member numbers with their check digits."""
    return [number(n) for n in range(first, first + many)]
