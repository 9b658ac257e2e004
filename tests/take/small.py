"""Small books for tests: an invented cooperative of two stations, and sheets written row by row."""

import csv
import hashlib
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from stdnum import damm

from pipeline.book.book import Book, new_book
from pipeline.book.journal import append
from pipeline.intake.kinds import kinds
from pipeline.season.generations import must_have
from pipeline.season.tables import connect, rows
from pipeline.take import take
from pipeline.taken import Taken

AT = "2026-06-30T12:00:00Z"
DAY = date(2026, 6, 30)
BY = "clerk"

SETTINGS = """\
[cooperative]
name = "Lower Tarrin Growers' Cooperative"
place = "Lower Tarrin"
currency = "USD"
languages = ["en"]
questions_days = 30
questions_to = "the office at Kessim"

[[season]]
code = "2026"
first_day = 2026-03-30
last_day = 2026-10-04

[[station]]
code = "KES"
name = "Kessim"
zone = "middle"

[[station]]
code = "ARD"
name = "Ardolo Bridge"
zone = "low"

[[scale]]
code = "KES-1"
station = "KES"
capacity_kg = "150"
interval_kg = "0.1"
class = "III"
verified = 2026-02-10

[[scale]]
code = "ARD-1"
station = "ARD"
capacity_kg = "300"
interval_kg = "0.2"
class = "III"
verified = 2026-02-11

[[deduction]]
code = "levy"
name = "Cooperative levy"
authority = "General meeting, resolution 3"
percent = "3"

[[deduction]]
code = "transport"
name = "Transport to the drying station"
authority = "General meeting, resolution 5"
form = "fresh_cherry"
per_kg = "0.02"
"""


def number(n: int) -> str:
    """A member number with its check digit."""
    return f"{n}{damm.calc_check_digit(str(n))}"


ASHA, BEMI, CORO = (number(n) for n in (1001, 1002, 1003))

# A sound row of every kind, by column; a test changes the cells that it is about.
SOUND: dict[str, dict[str, str]] = {
    "members": {
        "member_no": ASHA,
        "name": "Asha Doreme",
        "village": "Lower Tarrin",
        "station": "KES",
        "joined": "2019-02-11",
        "language": "en",
    },
    "plots": {
        "member_no": ASHA,
        "plot_no": "1",
        "species": "arabica",
        "planted_year": "2014",
        "trees": "640",
        "trees_bearing": "600",
        "row_spacing_m": "2.5",
        "tree_spacing_m": "2.0",
        "layout": "rectangular",
        "area_ha": "0.34",
        "counted_on": "2026-03-16",
    },
    "prices": {
        "from_day": "2026-03-30",
        "species": "arabica",
        "form": "parchment",
        "grade": "1",
        "price_per_kg": "1.0000",
        "list_no": "PL-1",
    },
    "weighings": {
        "station": "KES",
        "day": "2026-05-04",
        "receipt_book": "K01",
        "receipt_no": "1",
        "line": "1",
        "member_no": ASHA,
        "species": "arabica",
        "form": "parchment",
        "grade": "1",
        "bags": "1",
        "gross_kg": "61.2",
        "tare_kg": "1.2",
        "net_kg": "60.0",
        "moisture_pct": "11.0",
        "scale": "KES-1",
        "recorder": "Ibo Marren",
    },
    "deliveries": {
        "member_no": ASHA,
        "day": "2026-05-04",
        "station": "KES",
        "species": "arabica",
        "form": "parchment",
        "kg": "60.0",
        "written_from": "own notebook",
        "recorder": "Asha Doreme",
    },
    "farm_record": {
        "member_no": ASHA,
        "day": "2026-05-04",
        "plot_no": "1",
        "activity": "weeding",
        "family_days": "2",
        "cost": "12.50",
        "recorder": "Asha Doreme",
    },
    "payments": {
        "payment_no": "P-1",
        "day": "2026-05-08",
        "member_no": ASHA,
        "amount": "10.00",
        "method": "cash",
        "paid_by": "Lio Tessan",
    },
}


def posted(book: Book, path: Path) -> None:
    """Let two people post a second payment's sheet; other sheets need none."""
    if "second_payments" in path.name:
        sha256 = hashlib.sha256(path.read_bytes()).hexdigest()
        body = {"sha256": sha256, "of": "second_payments", "by": BY, "second": "manager"}
        append(book.journal(), "posted", body, AT)


def sheet(
    folder: Path,
    name: str,
    kind: str,
    changes: Iterable[Mapping[str, str]],
    without: Sequence[str] = (),
) -> Path:
    """Write a sheet: one row per mapping of changed cells; `without` names columns left out."""
    columns = [column for column in kinds()[kind].columns if column.name not in without]
    path = folder / name
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow([column.title for column in columns])
        for changed in changes:
            cells = SOUND.get(kind, {}) | dict(changed)
            writer.writerow([cells.get(column.name, "") for column in columns])
    return path


def registers(folder: Path) -> list[Path]:
    """Three members, a plot each, and prices for parchment and fresh cherry."""
    members = [
        {"member_no": no, "name": name}
        for no, name in ((ASHA, "Asha Doreme"), (BEMI, "Bemi Orlat"), (CORO, "Coro Tamm"))
    ]
    return [
        sheet(folder, "members.csv", "members", members),
        sheet(folder, "plots.csv", "plots", [{"member_no": no} for no in (ASHA, BEMI, CORO)]),
        sheet(
            folder,
            "prices.csv",
            "prices",
            [{}, {"form": "fresh cherry", "price_per_kg": "0.6250"}],
        ),
    ]


def made(path: Path, settings: str = SETTINGS) -> Book:
    """An empty book."""
    return new_book(path, settings, "2026-03-30T06:00:00Z")


def taken(book: Book, *paths: Path, day: date = DAY) -> list[Taken]:
    """Take sheets the same way every time."""
    return take(book, paths, by=BY, day=day, at=AT)


def ask(book: Book, text: str, *values: object) -> list[Any]:
    """Run a query on the book's season file."""
    with connect(str(must_have(book, "2026"))) as con:
        return list(rows(con, text, list(values)))


WORKED_OUT = ("member_season", "member_coffee", "member_yield", "transfers", "valued")


def tables(book: Book, *names: str) -> dict[str, list[Any]]:
    """Whole tables of the season file, in an order of their own."""
    return {name: sorted(ask(book, f"from {name}"), key=repr) for name in names}
