"""The settings of a book: `book.toml` as plain objects, or refused with the key at fault."""

import hashlib
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import lru_cache
from itertools import pairwise

import tomli

from checks.limits import UnknownLimit, refuse_unknown
from pipeline.book_toml import Table
from pipeline.declared import (
    ROLES,
    Basis,
    LimitSetting,
    Measure,
    Meter,
    Person,
    Scale,
    Season,
    SheetSettings,
    Station,
    named,
)
from pipeline.declared_money import Deduction, Paying, Premium, Voting
from pipeline.errors import SettingsError
from pipeline.intake.limits import DEFAULT, LEAST, MOST, NAMES, IntakeLimits
from pipeline.intake.names import LANGUAGES
from pipeline.money import UnknownCurrency, decimals
from pipeline.settings_money import deduction, paying, premium, voting


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """All settings of a book, as one value; `text` is book.toml as it stood, `hash` its SHA-256."""

    text: str
    hash: str
    name: str
    place: str
    currency: str
    decimals: int
    languages: tuple[str, ...]
    questions_days: int
    questions_to: dict[str, str]
    seasons: tuple[Season, ...]
    stations: tuple[Station, ...]
    scales: tuple[Scale, ...]
    deductions: tuple[Deduction, ...]
    limits: tuple[LimitSetting, ...]
    gate: dict[str, Decimal] = field(default_factory=dict[str, Decimal])
    measures: tuple[Measure, ...] = ()
    meters: tuple[Meter, ...] = ()
    basis: Basis = field(default_factory=Basis)
    sheets: SheetSettings = field(default_factory=SheetSettings)
    intake: IntakeLimits = DEFAULT
    people: tuple[Person, ...] = ()
    premiums: tuple[Premium, ...] = ()
    paying: Paying = field(default_factory=Paying)
    voting: Voting = field(default_factory=Voting)

    @property
    def season_hash(self) -> str:
        """The SHA-256 of what a season is worked out by: all but people and how they are asked.

        Comments and the order of tables in book.toml are no part of it either.
        """
        bare = replace(self, text="", hash="", people=(), questions_days=0, questions_to={})
        return hashlib.sha256(repr(bare).encode()).hexdigest()

    def season(self, code: str) -> Season:
        """Return the season called `code`; SettingsError names those there are."""
        return named("season", code, self.seasons)

    def station(self, code: str) -> Station:
        """Return the station called `code`; SettingsError names those there are."""
        return named("station", code, self.stations)

    def person(self, name: str) -> Person | None:
        """Return the declared person of a name, capitals apart, or None."""
        wanted = name.strip().casefold()
        return next((one for one in self.people if one.name.casefold() == wanted), None)


@lru_cache(maxsize=8)
def read_settings(text: str) -> Settings:
    """Read the text of book.toml; SettingsError names table, key, value, why and what to write."""
    try:
        whole = Table("book.toml", tomli.loads(text))
    except tomli.TOMLDecodeError as error:
        raise SettingsError(f"book.toml cannot be read: {error}. Mend that line.") from None
    coop = Table("cooperative", whole.raw.get("cooperative"))
    try:
        places = decimals(coop.text("currency"))
    except UnknownCurrency:
        raise coop.wrong("currency", "a currency code of ISO 4217 is needed here.") from None
    settings = Settings(
        text=text,
        hash=hashlib.sha256(text.encode()).hexdigest(),
        name=coop.text("name"),
        place=coop.text("place"),
        currency=coop.text("currency"),
        decimals=places,
        languages=tuple(coop.raw.get("languages", ["en"])),
        questions_days=coop.whole("questions_days"),
        questions_to=coop.by_language("questions_to"),
        seasons=tuple(_season(table) for table in whole.tables("season")),
        stations=tuple(
            Station(code=t.text("code"), name=t.text("name"), zone=t.text("zone", ""))
            for t in whole.tables("station")
        ),
        scales=tuple(_scale(table) for table in whole.tables("scale")),
        deductions=tuple(deduction(t, places) for t in whole.tables("deduction")),
        limits=tuple(_limit(table) for table in whole.tables("limit")),
        gate={
            key: Table("gate", whole.raw["gate"]).number(key) for key in whole.raw.get("gate", {})
        },
        measures=tuple(_measure(table) for table in whole.tables("measure")),
        meters=tuple(_meter(table) for table in whole.tables("meter")),
        basis=_basis(Table("basis", whole.raw.get("basis", {}))),
        sheets=_sheets(Table("sheets", whole.raw.get("sheets", {}))),
        intake=_intake(Table("intake", whole.raw.get("intake", {}))),
        people=tuple(_person(table) for table in whole.tables("person")),
        premiums=(
            *(premium(t, discount=False) for t in whole.tables("premium")),
            *(premium(t, discount=True) for t in whole.tables("discount")),
        ),
        paying=paying(Table("paying", whole.raw.get("paying", {})), places),
        voting=voting(Table("voting", whole.raw.get("voting", {}))),
    )
    _refuse_contradictions(settings)
    return settings


def _season(table: Table) -> Season:
    season = Season(
        code=table.text("code"), first_day=table.day("first_day"), last_day=table.day("last_day")
    )
    if season.last_day <= season.first_day:
        raise table.wrong("last_day", "a season ends after its first day.")
    return season


def _scale(table: Table) -> Scale:
    scale = Scale(
        code=table.text("code"),
        station=table.text("station"),
        capacity_kg=table.number("capacity_kg"),
        interval_kg=table.number("interval_kg"),
        accuracy_class=table.text("class"),
        verified=table.day("verified") if "verified" in table.raw else None,
    )
    if scale.interval_kg == 0 or scale.capacity_kg <= scale.interval_kg:
        raise table.wrong("interval_kg", "the interval is above nought and below the capacity.")
    return scale


def _measure(table: Table) -> Measure:
    measure = Measure(
        name=table.text("name"),
        station=table.text("station", ""),
        form=table.text("form", ""),
        kg=table.number("kg"),
        from_day=table.day("from"),
        authority=table.text("authority"),
    )
    if measure.kg == 0:
        raise table.wrong("kg", "a measure weighs more than nought.")
    return measure


def _meter(table: Table) -> Meter:
    return Meter(
        code=table.text("code"),
        station=table.text("station"),
        method=table.text("method"),
        tolerance_pct=table.number("tolerance_pct") if "tolerance_pct" in table.raw else None,
        tolerance_points=(
            table.number("tolerance_points") if "tolerance_points" in table.raw else None
        ),
    )


def _basis(table: Table) -> Basis:
    green = table.text("green", "factors")
    if green not in ("factors", "measured"):
        raise table.wrong("green", 'write "factors" or "measured".')
    given = {"least_kg": table.number("least_kg")} if "least_kg" in table.raw else {}
    return Basis(green=green, **given)


def _person(table: Table) -> Person:
    if (language := table.text("language", "")) not in ("", *LANGUAGES):
        raise table.wrong("language", f"write one of {', '.join(LANGUAGES)}.")
    return Person(
        name=table.text("name").strip(),
        roles=table.texts("roles", ROLES),
        member_no=table.text("member_no", ""),
        relatives=table.texts("relatives"),
        stations=table.texts("stations"),
        language=language,
    )


def _sheets(table: Table) -> SheetSettings:
    orders = {"": "", "day-first": "dmy", "month-first": "mdy"}
    marks = {"": "", "point": ".", "comma": ","}
    if (order := table.text("date_order", "")) not in orders:
        raise table.wrong("date_order", 'write "day-first" or "month-first".')
    if (mark := table.text("decimal_mark", "")) not in marks:
        raise table.wrong("decimal_mark", 'write "point" or "comma".')
    return SheetSettings(
        date_order=orders[order],
        decimal_mark=marks[mark],
        quintal_kg=table.number("quintal_kg") if "quintal_kg" in table.raw else Decimal(100),
        empty_marks=tuple(str(mark) for mark in table.raw.get("empty_marks", [])),
    )


def _limit(table: Table) -> LimitSetting:
    return LimitSetting(
        name=table.text("name"),
        value=table.number("value"),
        because=table.text("because"),
        species=table.text("species", ""),
        form=table.text("form", ""),
        zone=table.text("zone", ""),
        station=table.text("station", ""),
    )


def _intake(table: Table) -> IntakeLimits:
    """Read the limits on what arrives; those not given keep their defaults."""
    for key in table.raw:
        if key not in NAMES:
            raise table.wrong(key, f"there is no such limit. There are: {', '.join(NAMES)}.")
        least, most = LEAST.get(key, 1), MOST.get(key)
        if table.whole(key) < least or (most is not None and table.whole(key) > most):
            up_to = f" up to {most}" if most else " or more"
            raise table.wrong(key, f"a whole number of {least}{up_to} is needed here.")
    return IntakeLimits(**table.raw)


def _refuse_contradictions(settings: Settings) -> None:
    """Refuse codes used twice, seasons that overlap and scales of no station."""
    for what, codes in (
        ("season", [s.code for s in settings.seasons]),
        ("station", [s.code for s in settings.stations]),
        ("scale", [s.code for s in settings.scales]),
        ("deduction", [d.code for d in settings.deductions]),
        ("premium", [p.code for p in settings.premiums]),
        ("meter", [m.code for m in settings.meters]),
        ("person", [p.name for p in settings.people]),
    ):
        # Codes are compared in capitals everywhere, and names of people as they may be typed.
        folded = [code.casefold() for code in codes]
        twice = sorted({code for code in codes if folded.count(code.casefold()) > 1})
        if twice:
            raise SettingsError(f"book.toml: [[{what}]] {twice[0]!r} is there twice.")
    if not settings.seasons:
        raise SettingsError("book.toml: no [[season]] is declared. Give its code and days.")
    ordered = sorted(settings.seasons, key=lambda s: s.first_day)
    for earlier, later in pairwise(ordered):
        if later.first_day <= earlier.last_day:
            raise SettingsError(f"book.toml: seasons {earlier.code} and {later.code} overlap.")
    stations = {station.code for station in settings.stations}
    try:
        refuse_unknown(settings.limits)
    except UnknownLimit as error:
        raise SettingsError(f"book.toml, [[limit]]: {error}") from None
    for limit in settings.limits:
        if limit.station and limit.station not in stations:
            raise SettingsError(
                f"book.toml, [[limit]] {limit.name}: station {limit.station!r} is not declared."
            )
        if limit.zone and limit.zone not in {station.zone for station in settings.stations}:
            raise SettingsError(
                f"book.toml, [[limit]] {limit.name}: no station lies in zone {limit.zone!r}."
            )
        if limit.zone and limit.station:
            raise SettingsError(
                f"book.toml, [[limit]] {limit.name}: give a zone or a station, not both; a "
                "station lies in one zone."
            )
    for person in settings.people:
        if unknown := set(person.stations) - stations:
            raise SettingsError(
                f"book.toml, [[person]] {person.name}: station {min(unknown)!r} is not declared."
            )
    for what, declared in (("scale", settings.scales), ("meter", settings.meters)):
        for one in declared:
            if one.station not in stations:
                raise SettingsError(
                    f"book.toml, [[{what}]] {one.code}: station {one.station!r} is not declared."
                )
