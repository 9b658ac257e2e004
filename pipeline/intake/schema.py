"""A kind's declaration as a Frictionless Table Schema, and all kinds as one Data Package."""

from typing import Any

from pipeline.intake.cells import LONGEST_SHAPE, LONGEST_TEXT
from pipeline.intake.kinds import Column, Kind, kinds
from pipeline.intake.stored import DECIMALS

# Type of the declaration -> type of the standard; every type of DECIMALS is a number.
TYPES = {"date": "date", "time": "time", "integer": "integer", "money": "number"}


def table_schema(kind: Kind, language: str = "") -> dict[str, Any]:
    """Return a kind's Table Schema (Frictionless Standards, version 1 profile).

    Without a language it describes rows as they are stored: column names, stored words. With one it
    describes a sheet as `weighbook template` gives it: that language's headings and words.
    """
    names = {column.name: _name(column, language) for column in kind.columns}
    schema: dict[str, Any] = {
        "fields": [_field(column, language) for column in kind.columns],
        "missingValues": [""],
    }
    # A primary key may hold no empty cell, and these may be empty.
    if kind.key and not kind.key_also:
        schema["primaryKey"] = [names[name] for name in kind.key]
    return schema


def data_package(language: str = "") -> dict[str, Any]:
    """Return the Data Package that describes one CSV per kind, `<kind>.csv`."""
    spoken = language or "en"
    return {
        "profile": "data-package",
        "name": "weighbook-sheets",
        "title": "Kinds of sheet",
        "resources": [
            {
                "profile": "tabular-data-resource",
                "name": kind.name.replace("_", "-"),
                "path": f"{kind.name}.csv",
                "title": kind.titles[spoken],
                "description": kind.abouts[spoken],
                "format": "csv",
                "mediatype": "text/csv",
                "encoding": "utf-8",
                "schema": table_schema(kind, language),
            }
            for kind in kinds().values()
        ],
    }


def _name(column: Column, language: str) -> str:
    return column.heading(language) if language else column.name


def _field(column: Column, language: str) -> dict[str, Any]:
    field: dict[str, Any] = {
        "name": _name(column, language),
        "title": column.spellings[language or "en"][0],
        "description": column.about,
        "type": "number" if column.type in DECIMALS else TYPES.get(column.type, "string"),
        "example": _example(column, language),
    }
    if column.type == "time":
        field["format"] = "%H:%M"
    # Properties of our own, which the standard lets stand beside its own.
    field |= {"unit": column.unit} if column.unit else {}
    field |= {"personal": True} if column.personal else {}
    limits = _constraints(column, language)
    return field | ({"constraints": limits} if limits else {})


def _example(column: Column, language: str) -> str:
    if column.choices and not language:
        shown = column.words()
        return next(stored for stored, word in shown.items() if word == column.example_in())
    return column.example_in(language or "en")


def _constraints(column: Column, language: str) -> dict[str, Any]:
    limits: dict[str, Any] = {"required": True} if column.required else {}
    if column.choices:
        words = column.words(language or "en")
        limits["enum"] = list(words.values() if language else words)
    elif column.type == "geometry":
        limits["maxLength"] = LONGEST_SHAPE
    elif column.type not in DECIMALS and column.type not in TYPES:
        limits["maxLength"] = LONGEST_TEXT
    # The standard has no bound that is itself left out: `above` is said as the least there is.
    for name, edge in (("minimum", column.least or column.above), ("maximum", column.most)):
        limits |= {name: float(edge) if "." in edge else int(edge)} if edge else {}
    return limits
