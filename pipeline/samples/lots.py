"""What became of the coffee: lots from the day's cherry to dry parchment, hulled lots, sales."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import polars as pl

from pipeline.samples.draws import Draws
from pipeline.samples.season import FIRST_DAY

# Every so many weeks a station hulls what has dried; what it hulls is sold two weeks later.
HULLED_EVERY = 4
SOLD_AFTER = timedelta(days=14)
BAG_HG = 600
CENTS_A_KG = 520
BUYER = "Tolmar Green Coffee House"
# Of a thousand: washed wet parchment from cherry, green from parchment and from dried cherry.
WASHED, FROM_PARCHMENT, FROM_DRY = 386, 802, 490
# Dry matter of wet parchment, of a thousand.
WET_DRY_MATTER = 450


@dataclass(frozen=True, slots=True, kw_only=True)
class Dried:
    """A lot of parchment that is dry: where, from when, and its weight in steps of 0.1 kg."""

    station: str
    lot_no: str
    day: date
    hg: int


def lots_and_sales(seed: int, weighed: pl.DataFrame, weeks: int) -> dict[str, pl.DataFrame]:
    """Draw the lots' cards and the sales that follow from what was weighed; no week's is late."""
    last = FIRST_DAY + timedelta(weeks=weeks, days=-1)
    cards, dried = _washed(Draws(seed, "lots"), weighed, last)
    hulled, sold = _hulled(Draws(seed, "hulling"), weighed, dried, last)
    return {"lots": _frame(cards + hulled), "sales": _frame(sold)}


def _frame(rows: list[dict[str, Any]]) -> pl.DataFrame:
    return pl.DataFrame(rows, infer_schema_length=None)


def _week(day: date) -> int:
    return (day - FIRST_DAY).days // 7


def _washed(
    draws: Draws, weighed: pl.DataFrame, last: date
) -> tuple[list[dict[str, Any]], list[Dried]]:
    """Return the cards of each day's cherry, and the lots that dried in time."""
    days = (
        weighed.filter(pl.col("form") == "fresh_cherry")
        .group_by("station", "day")
        .agg(pl.col("net_kg").sum())
        .sort("station", "day")
    )
    count = days.height
    washed, moisture = draws.bell(count), draws.whole(108, 119, count)
    minutes, dry_days = draws.whole(0, 150, count), draws.whole(8, 12, count)
    short = _short(days["station"].unique().to_list())
    rows: list[dict[str, Any]] = []
    dried: list[Dried] = []
    for n, (station, day, hg) in enumerate(days.iter_rows()):
        ended = day + timedelta(days=1 + int(dry_days[n]))
        if ended > last:
            # Its card is still out on the tables.
            continue
        lot_no = f"{short[station]}-{day:%m%d}"
        wet = int(hg * (WASHED + 6 * washed[n]) / 1000)
        dry = int(wet * WET_DRY_MATTER / (1000 - int(moisture[n])))
        at = f"{16 + minutes[n] // 60:02d}:{minutes[n] % 60:02d}"
        same = {"week": _week(ended), "station": station, "lot_no": lot_no, "species": "arabica"}
        rows += [
            same | _step(1, "receiving", day, "fresh_cherry", kg_out=hg, begun_at="08:00"),
            same | _step(2, "pulping", day, "parchment", begun_at=at),
            same | _step(3, "washing", day + timedelta(days=1), "parchment", kg_out=wet),
            same
            | _step(4, "drying", day + timedelta(days=1), "parchment", kg_in=wet, kg_out=dry)
            | {"ended_on": ended, "moisture_pct": int(moisture[n])},
        ]
        dried.append(Dried(station=station, lot_no=lot_no, day=ended, hg=dry))
    return rows, dried


def _short(codes: list[str]) -> dict[str, str]:
    """Return the least first letters of each code by which the codes differ."""
    for length in range(1, max(map(len, codes), default=0) + 1):
        if len({code[:length] for code in codes}) == len(codes):
            return {code: code[:length] for code in codes}
    return {code: code for code in codes}


def _step(line: int, step: str, day: date, form: str, **given: Any) -> dict[str, Any]:
    empty = dict.fromkeys(("kg_in", "kg_out", "begun_at", "ended_on", "moisture_pct", "from_lots"))
    return {"line": line, "step": step, "day": day, "form": form, **empty, **given}


def _hulled(
    draws: Draws, weighed: pl.DataFrame, dried: list[Dried], last: date
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Return the hulling of washed lots, of bought parchment and of dried cherry, and the sales."""
    rows: list[dict[str, Any]] = []
    sold: list[dict[str, Any]] = []
    stations = weighed["station"].unique(maintain_order=True).to_list()
    short = _short(stations)
    for month in range(1, _week(last) // HULLED_EVERY + 1):
        first = FIRST_DAY + timedelta(weeks=HULLED_EVERY * (month - 1))
        day = FIRST_DAY + timedelta(weeks=HULLED_EVERY * month)
        for station in stations:
            mine = [lot for lot in dried if lot.station == station and first <= lot.day < day]
            if mine:
                made_from = ", ".join(lot.lot_no for lot in mine)
                given = {"from_lots": made_from, "species": "arabica"}
                went_in = sum(lot.hg for lot in mine)
                number = f"{short[station]}-G{month}"
                rows.append(
                    _hulling(draws, station, number, 1, day, went_in, FROM_PARCHMENT, given)
                )
                _sell(sold, rows[-1], last)
            for form, letter, out in (
                ("parchment", "P", FROM_PARCHMENT),
                ("dry_cherry", "D", FROM_DRY),
            ):
                bought = weighed.filter(
                    (pl.col("station") == station)
                    & (pl.col("form") == form)
                    & pl.col("day").is_between(first, day, closed="left")
                )
                if bought.is_empty():
                    continue
                went_in = int(bought["net_kg"].sum())
                species = {"species": bought["species"][0]}
                number = f"{short[station]}-{letter}{month}"
                rows.append(
                    {"week": _week(day), "station": station, "lot_no": number}
                    | _step(1, "receiving", day, form, kg_out=went_in)
                    | species
                )
                rows.append(_hulling(draws, station, number, 2, day, went_in, out, species))
                _sell(sold, rows[-1], last)
    return rows, sold


def _hulling(
    draws: Draws,
    station: str,
    lot_no: str,
    line: int,
    day: date,
    went_in: int,
    out: int,
    given: dict[str, Any],
) -> dict[str, Any]:
    came_out = int(went_in * (out + 8 * draws.bell(1)[0]) / 1000)
    same = {"week": _week(day), "station": station, "lot_no": lot_no}
    step = _step(line, "hulling", day, "green", kg_in=went_in, kg_out=came_out, ended_on=day)
    return same | step | given


def _sell(sold: list[dict[str, Any]], hulled: dict[str, Any], last: date) -> None:
    """Sell the full bags of a hulled lot, two weeks after it was hulled."""
    day, bags = hulled["day"] + SOLD_AFTER, hulled["kg_out"] // BAG_HG
    if day > last or not bags:
        return
    hg = bags * BAG_HG
    sold.append(
        {
            "week": _week(day),
            "sale_no": f"S-{len(sold) + 1:03d}",
            "line": 1,
            "day": day,
            "buyer": BUYER,
            "lot_no": hulled["lot_no"],
            "species": hulled["species"],
            "form": "green",
            "bags": bags,
            "net_kg": hg,
            "price_per_kg": CENTS_A_KG * 100,
            "amount": hg * CENTS_A_KG // 10,
        }
    )
