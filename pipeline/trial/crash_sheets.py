"""The small book of the crash trial: a few members, and sheets with one doubtful row each."""

import csv
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from pathlib import Path

from stdnum import damm

from pipeline.intake.kinds import kinds
from pipeline.samples.place import sample_inputs

SEASON = "2026"
STATION, SCALE = "KES", "KES-1"
FIRST_DAY = date(2026, 4, 6)
MEMBERS = [f"{n}{damm.calc_check_digit(str(n))}" for n in range(1001, 1005)]


def settings() -> str:
    """Return the settings of the invented cooperative."""
    return (sample_inputs() / "book.toml").read_text("utf-8")


def _sheet(path: Path, kind: str, lines: Sequence[Mapping[str, str]]) -> Path:
    columns = kinds()[kind].columns
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow([column.title for column in columns])
        for line in lines:
            writer.writerow([line.get(column.name, "") for column in columns])
    return path


def registers(folder: Path) -> list[Path]:
    """Write members and prices, and return their sheets."""
    members = [
        {
            "member_no": number,
            "name": f"Ena Torvil {number}",
            "village": "Upper Sarro",
            "station": STATION,
            "joined": "2019-02-11",
            "language": "en",
        }
        for number in MEMBERS
    ]
    price = {
        "from_day": "2026-03-30",
        "species": "arabica",
        "form": "parchment",
        "grade": "1",
        "price_per_kg": "1.1000",
        "list_no": "PL-1",
    }
    return [
        _sheet(folder / "members.csv", "members", members),
        _sheet(folder / "prices.csv", "prices", [price]),
    ]


def week_sheet(folder: Path, name: str, turn: int) -> Path:
    """Write the weighings of a turn: two sound ones, and one whose net is its gross."""
    day = FIRST_DAY + timedelta(days=turn % 80)
    lines = [
        {
            "station": STATION,
            "day": day.isoformat(),
            "receipt_book": "K01",
            "receipt_no": str(turn * 3 + place + 1),
            "line": "1",
            "member_no": MEMBERS[(turn + place) % len(MEMBERS)],
            "species": "arabica",
            "form": "parchment",
            "grade": "1",
            "bags": "1",
            "gross_kg": gross,
            "tare_kg": "1.2",
            "net_kg": net,
            "moisture_pct": "11.0",
            "scale": SCALE,
            # A sheet of its own for each turn, never a later version of another.
            "recorder": f"Ibo Marren {turn}",
        }
        for place, (gross, net) in enumerate((("61.2", "60.0"), ("48.7", "47.5"), ("55.3", "55.3")))
    ]
    return _sheet(folder / name, "weighings", lines)
