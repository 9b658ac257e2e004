"""The season's work as a capable analyst would write it with pandas: read, check, total.

The yardstick of the bench, not a part of the pipeline: figures are floats, a sheet that cannot be
read ends the run, and nothing is kept of where a row came from.
"""

from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib import import_module, resources
from pathlib import Path
from typing import Any

import tomli

from checks.limits import applied
from pipeline.bench.season import by_kind
from pipeline.intake.kinds import kinds
from pipeline.intake.stored import sql_type
from pipeline.samples.sheets import by_week, headings
from pipeline.settings import Settings

# pandas has no complete types.
pandas: Any = import_module("pandas")

BY_FORM = {
    "possible_low": "moisture_possible_low",
    "possible_high": "moisture_possible_high",
    "safe_low": "moisture_safe_low",
    "safe_high": "moisture_safe_high",
}
LINE = ["station", "receipt_book", "receipt_no", "line"]


@cache
def shared_checks() -> dict[str, str]:
    """Return the checks that all sides run: our rule, and what finds its rows with pandas."""
    text = resources.files("pipeline.bench").joinpath("shared_checks.toml").read_text("utf-8")
    return {check["rule"]: check["finds"] for check in tomli.loads(text)["check"]}


@dataclass(frozen=True, slots=True)
class Read:
    """A season as pandas read it: a frame a kind, and the day on which each week's sheets came."""

    frames: dict[str, Any]
    days: dict[str, date]


def read_season(folder: Path) -> Read:
    """Read every sheet of a season with the fastest of pandas' readers, typed.

    A code written in digits only would lose leading zeros; the drawn sheets have none.
    """
    days = {paths[0].parent.name: day for day, paths in by_week(folder / "season") if paths}
    frames: dict[str, Any] = {}
    for kind, files in by_kind(folder).items():
        names = {heading: name for name, heading in headings(kind).items()}
        types = {h: sql_type(kinds()[kind].column(n)) for h, n in names.items()}
        read: list[Any] = []
        for path in files:
            one = pandas.read_csv(path, engine="pyarrow", dtype_backend="pyarrow")
            one["week"] = path.parent.name
            read.append(one)
        # Types are set once a kind: to give them with every file takes more than twice as long.
        whole = pandas.concat(read, ignore_index=True)
        codes = {h: "string[pyarrow]" for h in whole.columns if types.get(h) == "VARCHAR"}
        frames[kind] = whole.astype(codes).rename(columns=names)
    return Read(frames, days)


def with_facts(season: Read, settings: Settings, code: str) -> Any:
    """Return the weighings beside what is known of each row's member, scale, form and season."""
    rows = season.frames["weighings"].copy()
    rows["day"] = rows["day"].astype("datetime64[s]")
    for column in ("gross_kg", "tare_kg", "net_kg", "moisture_pct"):
        rows[column] = rows[column].astype("float64")
    scales = {scale.code: scale for scale in settings.scales}
    days = settings.season(code)
    known = rows.assign(
        member_known=rows["member_no"].isin(season.frames["members"]["member_no"]),
        station_known=rows["station"].isin([station.code for station in settings.stations]),
        scale_station=rows["scale"].map({c: s.station for c, s in scales.items()}),
        interval_kg=rows["scale"].map({c: float(s.interval_kg) for c, s in scales.items()}),
        capacity_kg=rows["scale"].map({c: float(s.capacity_kg) for c, s in scales.items()}),
        line_again=rows.duplicated(LINE),
        first_day=pandas.Timestamp(days.first_day),
        last_day=pandas.Timestamp(days.last_day),
        taken_day=rows["week"].map({w: pandas.Timestamp(d) for w, d in season.days.items()}),
    )
    for column, limit in BY_FORM.items():
        by_form = {
            form: _limit(limit, form.replace(" ", "_"), settings) for form in rows["form"].unique()
        }
        known[column] = rows["form"].map(by_form).astype(float)
    return known


def _limit(name: str, form: str, settings: Settings) -> float | None:
    value = applied(name, settings.limits, form=form).value
    return None if value is None else float(value)


def check(rows: Any) -> dict[str, int]:
    """Return how many rows each shared check finds."""
    return {rule: int(rows.eval(finds).sum()) for rule, finds in shared_checks().items()}


def totals(season: Read) -> Any:
    """Return the kilograms of each member."""
    return season.frames["weighings"].groupby("member_no")["net_kg"].sum()
