"""Puts the settings that SQL looks at into the tables of a season file."""

import duckdb

from checks.limits import write_limits
from pipeline.declared import LimitSetting
from pipeline.season.money import write_money_settings
from pipeline.settings import Settings


def write_settings(con: duckdb.DuckDBPyConnection, settings: Settings, season: str) -> None:
    """Put the settings that SQL looks at into their tables."""
    for station in settings.stations:
        con.execute(
            "insert into stations values (?, ?, ?)", [station.code, station.name, station.zone]
        )
    for scale in settings.scales:
        con.execute(
            "insert into scales values (?, ?, ?, ?, ?, ?)",
            [
                scale.code,
                scale.station,
                scale.capacity_kg,
                scale.interval_kg,
                scale.accuracy_class,
                scale.verified,
            ],
        )
    write_money_settings(con, settings)
    for meter in settings.meters:
        con.execute(
            "insert into meters values (?, ?, ?)", [meter.code, meter.station, meter.method]
        )
    for one in settings.seasons:
        con.execute("insert into declared_seasons values (?)", [one.code])
    days = settings.season(season)
    con.execute(
        "insert into season_days values (?, ?, ?)", [days.code, days.first_day, days.last_day]
    )
    write_limits(
        con,
        (*_of_meters(settings), *settings.limits),
        {station.code: station.zone for station in settings.stations},
    )


def _of_meters(settings: Settings) -> list[LimitSetting]:
    """Return how far off each station's meter may read, as limits of that station."""
    return [
        LimitSetting(name=name, value=value, station=meter.station, because=f"meter {meter.code}")
        for meter in settings.meters
        for name, value in (
            ("meter_tolerance", meter.tolerance_pct),
            ("meter_tolerance_least", meter.tolerance_points),
        )
        if value is not None
    ]
