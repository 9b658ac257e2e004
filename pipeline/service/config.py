"""How a book's service runs: `service.toml` beside book.toml, all of it optional.

It is no part of the journal, since it changes no figure and may hold secrets (an address with a
password to send messages by). What it does not say has a default.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta, tzinfo
from pathlib import Path
from zoneinfo import ZoneInfo

import tomli
from dateutil.rrule import rrule, rruleset, rrulestr
from tzlocal import get_localzone_name

from pipeline.book.book import Book
from pipeline.book_toml import Table
from pipeline.errors import SettingsError

NAME = "service.toml"
DAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
KEYS = (
    "timezone",
    "nightly",
    "weekly",
    "monthly",
    "closing",
    "notify",
    "backup",
    "backup_key_file",
    "desk_port",
    "desk_host",
    "prefect_port",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ServiceSettings:
    """When the service does what, in civil time of `timezone`, and whom it tells.

    `times`: the rule of each chore's times as iCalendar writes it (RFC 5545, RRULE).
    `notify`: addresses as Apprise reads them, such as mailto://... `backup`: folders or addresses.
    """

    timezone: str
    times: dict[str, str] = field(default_factory=dict[str, str])
    notify: tuple[str, ...] = ()
    backup: tuple[str, ...] = ()
    backup_key_file: str = ""
    desk_host: str = "127.0.0.1"
    desk_port: int = 8080
    prefect_port: int = 4200

    def local(self, at: datetime) -> datetime:
        """Return an instant as civil time of the service, without a zone."""
        return at.astimezone(self.zone).replace(tzinfo=None)

    @property
    def zone(self) -> tzinfo:
        """The time zone by which the service keeps its times."""
        return ZoneInfo(self.timezone)


def service_settings(book: Book) -> ServiceSettings:
    """Read service.toml; SettingsError names the key at fault. Defaults where there is none."""
    return read_service(_text(book.path / NAME))


def _text(path: Path) -> str:
    try:
        return path.read_text("utf-8")
    except FileNotFoundError:
        return ""
    except (OSError, UnicodeDecodeError):
        raise SettingsError(
            f"{NAME} cannot be read. Look at its rights; write it in UTF-8."
        ) from None


def read_service(text: str) -> ServiceSettings:
    """Read the text of service.toml, as `service_settings`."""
    try:
        whole = tomli.loads(text)
        if any(key != "service" for key in whole):
            raise SettingsError(f"{NAME}: write all settings below the line [service].")
        table = Table("service", whole.get("service", {}), NAME)
    except tomli.TOMLDecodeError as error:
        raise SettingsError(f"{NAME} cannot be read: {error}. Mend that line.") from None
    for key in table.raw:
        if key not in KEYS:
            raise table.wrong(key, f"there is no such setting. There are: {', '.join(KEYS)}.")
    zone = table.text("timezone", "") or get_localzone_name() or "UTC"
    try:
        ZoneInfo(zone)
    except (ValueError, OSError, KeyError):
        raise table.wrong("timezone", "write a name of the IANA list, such as Etc/UTC.") from None
    return ServiceSettings(
        timezone=zone,
        times={
            "inbox": "FREQ=HOURLY;BYMINUTE=7;BYSECOND=0",
            "nightly": f"FREQ=DAILY;{_clock(table, 'nightly', '01:30')}",
            "weekly": _weekly(table),
            "monthly": _monthly(table),
            "closing": f"FREQ=DAILY;{_clock(table, 'closing', '07:00')}",
        },
        notify=table.texts("notify"),
        backup=table.texts("backup"),
        backup_key_file=table.text("backup_key_file", ""),
        desk_host=table.text("desk_host", "127.0.0.1"),
        desk_port=_port(table, "desk_port", 8080),
        prefect_port=_port(table, "prefect_port", 4200),
    )


def _port(table: Table, key: str, default: int) -> int:
    port = table.whole(key) if key in table.raw else default
    if not 1 <= port <= 65535:
        raise table.wrong(key, "a port lies between 1 and 65535.")
    return port


def _clock(table: Table, key: str, default: str, *, given: str = "") -> str:
    """Return a time of day such as "01:30" as parts of a recurrence rule."""
    said = given or table.text(key, default)
    hour, colon, minute = said.partition(":")
    if not (colon and hour.isdecimal() and minute.isdecimal()) or not (
        int(hour) < 24 and int(minute) < 60
    ):
        raise table.wrong(key, 'write a time of day such as "01:30".')
    return f"BYHOUR={int(hour)};BYMINUTE={int(minute)};BYSECOND=0"


def _weekly(table: Table) -> str:
    day, _, clock = table.text("weekly", "MO 06:00").partition(" ")
    if day.upper()[:2] not in DAYS:
        raise table.wrong("weekly", 'write a day and a time, such as "MO 06:00".')
    return f"FREQ=WEEKLY;BYDAY={day.upper()[:2]};{_clock(table, 'weekly', '', given=clock)}"


def _monthly(table: Table) -> str:
    day, _, clock = table.text("monthly", "1 06:30").partition(" ")
    if not day.isdecimal() or not 1 <= int(day) <= 28:
        raise table.wrong("monthly", 'write a day of the month up to 28 and a time: "1 06:30".')
    return f"FREQ=MONTHLY;BYMONTHDAY={int(day)};{_clock(table, 'monthly', '', given=clock)}"


# Rules are looked at from so many days back, which holds a time of each.
_BACK_DAYS = {"HOURLY": 1, "DAILY": 2, "WEEKLY": 8, "MONTHLY": 62}


def _rule(rule: str, local: datetime) -> rruleset | rrule:
    back = timedelta(days=_BACK_DAYS[rule.partition(";")[0].removeprefix("FREQ=")])
    return rrulestr(rule, dtstart=local.replace(minute=0, second=0, microsecond=0) - back)


def last_time(rule: str, local: datetime) -> datetime:
    """Return the last time that a rule of these settings names, at or before a civil time."""
    found = _rule(rule, local).before(local, inc=True)
    assert found is not None
    return found


def next_time(rule: str, local: datetime) -> datetime:
    """Return the next time that a rule of these settings names after a civil time."""
    found = _rule(rule, local).after(local)
    assert found is not None
    return found
