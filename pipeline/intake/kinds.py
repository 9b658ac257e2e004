"""The kinds of sheet: one declaration each, read from `kinds/*.toml`."""

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a kind: its name, type, unit, and the headings a sheet may give it."""

    name: str
    type: str
    title: str
    about: str
    example: str
    unit: str = ""
    required: bool = False
    choices: str = ""
    headings: tuple[str, ...] = ()

    @property
    def stored(self) -> str:
        """Name of the table column: money is stored in whole minor units and says so."""
        return f"{self.name}_minor" if self.type == "money" else self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of sheet: what a row is, what tells rows apart, and what a later sheet does.

    `key`: columns that name a row across versions; empty where only the full content does.
    `slot`: what a sheet is a version of; `later_sheet`: "replaces" its slot's rows or only "adds".
    `day`: the column that places a row in a season; empty for registers, which every season holds.
    """

    name: str
    title: str
    about: str
    recorded_by: str
    day: str
    key: tuple[str, ...]
    slot: tuple[str, ...]
    later_sheet: str
    columns: tuple[Column, ...]

    def column(self, name: str) -> Column:
        """Return the column called `name`; KeyError where the kind has none."""
        for column in self.columns:
            if name in (column.name, column.stored):
                return column
        raise KeyError(name)


@cache
def normal_heading(text: str) -> str:
    """Reduce a heading to what is compared: small letters and digits, `%` kept as a word."""
    return " ".join(re.findall(r"[^\W_]+|%", text.casefold()))


def _column(raw: dict[str, Any]) -> Column:
    headings: dict[str, list[str]] = raw.pop("headings")
    spoken = tuple(heading for language in headings.values() for heading in language)
    return Column(title=headings["en"][0], headings=spoken, **raw)


@cache
def kinds() -> dict[str, Kind]:
    """Return every kind by name; registers come before what refers to them."""
    found: dict[str, Kind] = {}
    folder = resources.files("pipeline.intake").joinpath("kinds")
    for name in (
        "members",
        "plots",
        "prices",
        "weighings",
        "deliveries",
        "farm_record",
        "payments",
    ):
        raw = tomllib.loads(folder.joinpath(f"{name}.toml").read_text("utf-8"))
        columns = tuple(_column(column) for column in raw.pop("column"))
        found[name] = Kind(
            name=raw["kind"],
            title=raw["title"],
            about=raw["about"],
            recorded_by=raw["recorded_by"],
            day=raw.get("day", ""),
            key=tuple(raw["key"]),
            slot=tuple(raw["slot"]),
            later_sheet=raw["later_sheet"],
            columns=columns,
        )
    return found


@cache
def choices(name: str) -> dict[str, str]:
    """Return the accepted spellings of a choice column, each with the value that is stored."""
    text = resources.files("pipeline.intake").joinpath("kinds/choices.toml").read_text("utf-8")
    table = tomllib.loads(text)[name]
    spellings = {normal_heading(stored): stored for stored in table}
    for stored, accepted in table.items():
        spellings |= {normal_heading(spelling): stored for spelling in accepted}
    return spellings
