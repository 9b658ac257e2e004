"""Frames written as the CSV sheets that a cooperative's office would send."""

from datetime import date, timedelta
from functools import cache
from pathlib import Path

import polars as pl

from pipeline.intake.kinds import kinds
from pipeline.samples.people import Station
from pipeline.samples.season import FIRST_DAY

# How many decimals a column is printed with: the frames hold these as whole numbers of the last
# printed decimal, so no binary fraction ever touches a weight or a sum of money.
DECIMALS = {
    "gross_kg": 1,
    "tare_kg": 1,
    "net_kg": 1,
    "kg_in": 1,
    "kg_out": 1,
    "kg": 1,
    "moisture_pct": 1,
    "price_per_kg": 4,
    "row_spacing_m": 1,
    "tree_spacing_m": 1,
    "area_ha": 2,
    "family_days": 1,
    "hired_days": 1,
    "cost": 2,
    "amount": 2,
    "charge": 2,
    "green_kg": 1,
    "by_quarter_kg": 1,
    "by_half_kg": 1,
    "by_three_quarters_kg": 1,
    "value": 2,
    "value_best": 2,
}
CHOICES = ("form", "written_from", "step")


@cache
def headings(kind: str) -> dict[str, str]:
    """Return the columns of a kind of sheet, each with its first English heading."""
    return {column.name: column.title for column in kinds()[kind].columns}


def as_text(kind: str, frame: pl.DataFrame) -> pl.DataFrame:
    """Return the frame's columns as text under their headings, empty where there is no value."""
    shown: list[pl.Expr] = []
    for name, heading in headings(kind).items():
        if name not in frame.columns:
            continue
        if name in DECIMALS:
            expression = _with_decimals(pl.col(name), DECIMALS[name])
        elif name in CHOICES:
            expression = pl.col(name).str.replace("_", " ")
        else:
            expression = pl.col(name).cast(pl.String)
        shown.append(expression.alias(heading))
    return frame.select(shown)


def _with_decimals(column: pl.Expr, decimals: int) -> pl.Expr:
    unit = 10**decimals
    fraction = (column % unit).cast(pl.String).str.zfill(decimals)
    return (column // unit).cast(pl.String) + "." + fraction


def week_name(week: int) -> str:
    """Return the ISO week that lies `week` weeks after the season's first: 0 -> 2026-W14."""
    year, number, _ = (FIRST_DAY + timedelta(weeks=week)).isocalendar()
    return f"{year}-W{number:02d}"


def week_sheets(week: int, frames: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Return one week's sheets as text, by file name.

    Weighings and deliveries come as one sheet a station, the rest as one sheet a week.
    """
    name, sheets = week_name(week), dict[str, pl.DataFrame]()
    for kind, frame in frames.items():
        rows = frame.filter(pl.col("week") == week)
        if rows.is_empty():
            continue
        if "station" not in rows.columns:
            sheets[f"{kind}_{name}.csv"] = as_text(kind, rows)
            continue
        text = as_text(kind, rows)
        for (station,), part in text.partition_by(
            headings(kind)["station"], as_dict=True, maintain_order=True
        ).items():
            sheets[f"{kind}_{station}_{name}.csv"] = part
    return sheets


def write_week(folder: Path, sheets: dict[str, pl.DataFrame]) -> None:
    """Write sheets into a folder, which is made where it is missing."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, sheet in sheets.items():
        sheet.write_csv(folder / name)


def book_toml(places: tuple[Station, ...], weeks: int, *, picked_before: bool = True) -> str:
    """Return the settings file for these stations; the season ends one week after its last.

    `picked_before`: whether picking begins weeks before the season's first day.
    """
    last_day = FIRST_DAY + timedelta(weeks=weeks + 1, days=-1)
    parts = [_HEAD.format(first_day=FIRST_DAY, last_day=last_day)]
    parts += [
        f'[[station]]\ncode = "{place.code}"\nname = "{place.name}"\nzone = "{place.zone}"\n'
        for place in places
    ]
    parts += [
        f'[[scale]]\ncode = "{place.code}-1"\nstation = "{place.code}"\n'
        f'capacity_kg = "{place.capacity_kg}"\ninterval_kg = "0.{place.interval_hg}"\n'
        f'class = "III"\nverified = {date(2026, 2, 10 + min(number, 2))}\n'
        for number, place in enumerate(places)
    ]
    parts += [
        f'[[meter]]\ncode = "{place.code}-M"\nstation = "{place.code}"\n'
        'method = "capacitance, checked against the oven (ISO 6673)"\ntolerance_points = "0.5"\n'
        for place in places
    ]
    return "\n".join([*parts, _DEDUCTIONS, *([_PICKED_BEFORE] if picked_before else [])])


_HEAD = """\
# The invented cooperative of the demo: its places, people and figures are made up.
[cooperative]
name = "Velunda Ridge Coffee Growers' Cooperative"
place = "Velunda Ridge"
currency = "USD"
languages = ["en"]
questions_days = 30
questions_to.en = "the office at Kessim, Tuesday and Friday mornings"
questions_to.fr = "l'équipe du bureau de Kessim, mardi et vendredi matin"
questions_to.es = "la oficina de Kessim, martes y viernes por la mañana"
questions_to.pt = "quem atende no escritório de Kessim, terças e sextas de manhã"
questions_to.sw = "ofisi ya Kessim, asubuhi ya Jumanne na Ijumaa"

[[season]]
code = "2026"
first_day = {first_day}
last_day = {last_day}
"""

_DEDUCTIONS = """\
# Taken in this order, on each delivery as it is priced.
[[deduction]]
code = "levy"
name = "Cooperative levy"
names.fr = "Prélèvement de la coopérative"
names.es = "Aporte a la cooperativa"
names.pt = "Taxa da cooperativa"
names.sw = "Ada ya ushirika"
authority = "General meeting of 14 February 2026, resolution 3"
percent = "3"

[[deduction]]
code = "transport"
name = "Transport to the drying station"
names.fr = "Transport jusqu'à la station de séchage"
names.es = "Transporte a la estación de secado"
names.pt = "Transporte até a estação de secagem"
names.sw = "Usafiri hadi kituo cha kukaushia"
authority = "General meeting of 14 February 2026, resolution 5"
form = "fresh_cherry"
per_kg = "0.02"

# Paid in until a member holds 10.00 of share capital; kept apart from coffee money.
[[deduction]]
code = "shares"
name = "Share contribution"
names.fr = "Parts sociales"
names.es = "Aporte de capital social"
names.pt = "Contribuição para cotas"
names.sw = "Mchango wa hisa"
authority = "Statutes, article 9"
takes = "shares"
percent = "1"
until = "10.00"

# Inputs on credit are taken of the coffee until they are repaid; half of each delivery stays.
[[deduction]]
code = "inputs"
name = "Inputs on credit, repaid"
names.fr = "Intrants à crédit, remboursés"
names.es = "Insumos a crédito, pagados"
names.pt = "Insumos a crédito, reembolsados"
names.sw = "Pembejeo za mkopo, zilizolipwa"
authority = "General meeting of 14 February 2026, resolution 6, and the signed issue note"
takes = "credit"
keep_percent = "50"
"""

_PICKED_BEFORE = """\
# In the invented place picking begins weeks before the season of the accounts.
[[limit]]
name = "dry_first_days"
value = "0"
because = "Picking begins in February"
"""


def by_week(season: Path) -> list[tuple[date, list[Path]]]:
    """Return a season's sheets by the day they came in: registers, then each week's a Monday later.

    `season`: the folder that holds a folder of registers and one a week.
    """
    days = [(FIRST_DAY, sorted((season / "register").iterdir()))]
    for week in sorted(season.glob("20*")):
        monday = date.fromisocalendar(int(week.name[:4]), int(week.name[6:]), 1)
        days.append((monday + timedelta(days=7), sorted(week.iterdir())))
    return days
