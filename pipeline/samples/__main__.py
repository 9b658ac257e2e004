"""Write an invented season of sheets: `python -m pipeline.samples OUT --seed 7`."""

import argparse
from collections.abc import Sequence
from pathlib import Path

import polars as pl

from pipeline.samples import faults, sheets
from pipeline.samples.bad_week import bad_week
from pipeline.samples.farm import farm_record
from pipeline.samples.field import credit, earlier_crops, lent_cents, trainings, visits
from pipeline.samples.land import land
from pipeline.samples.lots import lots_and_sales
from pipeline.samples.money import SECOND_LIST_WEEK, payments, price_list
from pipeline.samples.people import NAMED_STATIONS, members, stations
from pipeline.samples.season import receipt_books, receipts, records, weighings

LEAST_MEMBERS_FOR_BAD_WEEK = 200


def main(arguments: Sequence[str] | None = None) -> None:
    """Read the command line and write the sheets."""
    parser = argparse.ArgumentParser(prog="python -m pipeline.samples", description=__doc__)
    parser.add_argument("out", type=Path, help="folder to write into")
    parser.add_argument("--members", type=int, default=240)
    parser.add_argument("--weeks", type=int, default=26, help="weeks of the season, 4 to 39")
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--deliveries-per-member", type=float, default=8.0)
    parser.add_argument("--stations", type=int, default=len(NAMED_STATIONS))
    given = parser.parse_args(arguments)
    if not 4 <= given.weeks <= 39:
        parser.error("--weeks: give 4 to 39, so that the season ends within the year")
    if not 1 <= given.stations <= 200:
        parser.error("--stations: give 1 to 200")
    if given.members < given.stations:
        parser.error("--members: give at least one a station")
    write(
        given.out,
        people=given.members,
        weeks=given.weeks,
        seed=given.seed,
        per_member=given.deliveries_per_member,
        places=given.stations,
    )


def write(out: Path, *, people: int, weeks: int, seed: int, per_member: float, places: int) -> None:
    """Draw a season and write its sheets below `out`.

    With the four named stations and at least 200 members a bad week follows the season; then a
    book.toml that is already there is left as it is.
    """
    has_bad_week = places == len(NAMED_STATIONS) and people >= LEAST_MEMBERS_FOR_BAD_WEEK
    sites = stations(places)
    register = members(seed, sites, people)
    ground = land(seed, register)
    slips = receipts(
        seed,
        sites,
        register,
        ground.crop_kg,
        weeks=weeks,
        late_week=has_bad_week,
        per_member=per_member,
    )
    lines = weighings(seed, sites, register, slips)
    # The demo's season has what only a few pages need; larger ones are drawn for their weights.
    notes = credit(seed, register, ground) if has_bad_week else None
    lent = None if notes is None else lent_cents(register, notes)
    frames = {
        "weighings": lines.frame,
        "deliveries": records(seed, sites, register, slips, lines),
        "farm_record": farm_record(seed, register, weeks + has_bad_week),
        "payments": payments(seed, register, slips, lines, lent),
        **lots_and_sales(seed, lines.frame, weeks),
    }
    if notes is not None:
        frames |= {
            "credit": notes,
            "training": trainings(seed, register),
            "visits": visits(seed, register, ground),
        }
    season = out / "season"
    first = {
        "members": register.frame,
        "plots": ground.frame,
        "prices": price_list(1),
        "receipt_books": receipt_books(sites, slips),
    }
    if has_bad_week:
        first["past_crops"] = earlier_crops(seed, register, ground)
    sheets.write_week(season / "register", _register(first, weeks))
    for week in range(weeks):
        sheets.write_week(season / sheets.week_name(week), sheets.week_sheets(week, frames))
    if not (has_bad_week and (out / "book.toml").exists()):
        text = sheets.book_toml(sites, weeks)
        (out / "book.toml").write_text(text, encoding="utf-8", newline="\n")
    if has_bad_week:
        plan = (Path(__file__).parent / "second_payment.toml").read_text("utf-8")
        (out / "second_payment.toml").write_text(plan, encoding="utf-8", newline="\n")
        _write_bad_week(out, frames, ground.frame, weeks, seed)


def _register(first: dict[str, pl.DataFrame], weeks: int) -> dict[str, pl.DataFrame]:
    start = {f"{kind}.csv": sheets.as_text(kind, frame) for kind, frame in first.items()}
    if weeks > SECOND_LIST_WEEK:
        name = f"prices_{sheets.week_name(SECOND_LIST_WEEK)}.csv"
        start[name] = sheets.as_text("prices", price_list(2))
    return start


def _write_bad_week(
    out: Path, frames: dict[str, pl.DataFrame], plots: pl.DataFrame, week: int, seed: int
) -> None:
    earlier = week - 2
    bad = bad_week(
        seed=seed,
        honest=sheets.week_sheets(week, frames),
        earlier=sheets.week_sheets(earlier, frames),
        plots=sheets.as_text("plots", plots),
        weighed=frames["weighings"],
        kept_records=set(frames["deliveries"]["member_no"].cast(pl.String)),
        week=sheets.week_name(week),
        earlier_week=sheets.week_name(earlier),
    )
    faults.write(out, bad)


if __name__ == "__main__":
    main()
