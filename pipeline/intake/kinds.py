"""The kinds of sheet: one declaration each, read from `kinds/*.toml`."""

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from typing import Any

import tomli
from iso4217 import Currency

from pipeline.intake.names import LANGUAGES, ORDER

# Types whose values are shown with all but the last digits hidden.
MASKED = ("phone", "account")
# Units that end a heading without brackets as well: "Net kg", "Area ha", "Moisture %".
BARE_UNITS = frozenset("kg g lb lbs qq ha ac m m2 ft cm % pct".split())
# And those that are words, or too short to be told from one, which need their brackets.
BRACKET_UNITS = BARE_UNITS | frozenset(
    "kgs kilo kilos kilogram kilograms gram grams gramos pound pounds libra libras livre livres t "
    "q quintal quintals quintales quintaux quintais arroba arrobas acre acres hectare hectares "
    "hectarea hectareas mz manzana manzanas metre metres meter meters metro metros feet foot pie "
    "pies h hr hrs hour hours min mins day days jours dias siku c celsius per par por kwa bag bags "
    "sack sacks sac sacs saco sacos saca sacas magunia tin tins debe debes lata latas basin basins "
    "bassine bassines fcfa cfa ksh kes ush tsh fbu frw birr lps pesos soles reais shillings".split()
)
_UNIT_AT_END = re.compile(r"^(?P<name>.*?\S)\s*[(\[](?P<unit>[^()\[\]]+)[)\]]\s*[.:*]?\s*$", re.S)
# "Nº", "N.º", "N°": how Romance languages write "number".
_NUMBER_SIGN = re.compile(r"\bN\.?\s?[°º]", re.I)
_CURRENCIES = frozenset(currency.code for currency in Currency)


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a kind: its name, type, unit, and the headings a sheet may give it.

    `headings`: every accepted spelling; `spellings`: the same by language, the usual one first.
    `personal`: about a person, and kept only for statements and payment. `least`, `most`: the
    bounds of what it can hold at all, in its unit; `above`: it is more than this. `not_above`: the
    column of the same row that it never exceeds. `past`: never later than the sheet came in.
    """

    name: str
    type: str
    title: str
    about: str
    example: str
    unit: str = ""
    required: bool = False
    choices: str = ""
    personal: bool = False
    least: str = ""
    above: str = ""
    most: str = ""
    not_above: str = ""
    past: bool = False
    headings: tuple[str, ...] = ()
    spellings: Mapping[str, tuple[str, ...]] = field(
        default_factory=dict[str, tuple[str, ...]], hash=False
    )

    @property
    def stored(self) -> str:
        """Name of the table column: money is stored in whole minor units and says so."""
        return f"{self.name}_minor" if self.type == "money" else self.name

    def heading(self, language: str = "en") -> str:
        """Return the heading of a blank sheet: the usual spelling, with the unit if it has one."""
        spelling = self.spellings[language][0]
        measured = normal_word(self.unit) in BRACKET_UNITS - {"bags", "days"}
        said = normal_word(self.unit) in normal_word(spelling).split()
        return f"{spelling} ({self.unit})" if measured and not said else spelling

    def words(self, language: str = "en") -> dict[str, str]:
        """Return the values of a choice column, each with the word for it in a language."""
        return choice_words(self.choices, language) if self.choices else {}

    def unit_in(self, language: str = "en") -> str:
        """Return the unit in words of a language: "currency/kg" is "the book's currency/kg"."""
        words = template_words(language)
        return "/".join(words.get(part, part) for part in self.unit.split("/"))

    def example_in(self, language: str = "en") -> str:
        """Return the example as a sheet in this language writes it."""
        if not self.choices:
            return self.example
        return self.words(language)[choices(self.choices)[normal_word(self.example)]]

    def shown(self, value: str) -> str:
        """Return a value as it may be shown: telephone and account with their last three digits."""
        return f"***{value.strip()[-3:]}" if self.type in MASKED and value.strip() else value


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of sheet: what a row is, what tells rows apart, and what a later sheet does.

    `key`: columns that name a row across versions; empty where only the full content does.
    `slot`: what a sheet is a version of; `later_sheet`: "replaces" its slot's rows or only "adds".
    `day`: the column that places a row in a season; empty for registers, which every season holds.
    `until`: the column of the day on which what the row tells was over, where there is one: a sheet
    is sent in the week when it was. `key_also`: columns of the key that may be left empty.
    `titles` and `abouts`: title and about in each language.
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
    until: str = ""
    key_also: tuple[str, ...] = ()
    titles: Mapping[str, str] = field(default_factory=dict[str, str], hash=False)
    abouts: Mapping[str, str] = field(default_factory=dict[str, str], hash=False)

    def column(self, name: str) -> Column:
        """Return the column called `name`; KeyError where the kind has none."""
        for column in self.columns:
            if name in (column.name, column.stored):
                return column
        raise KeyError(name)

    def has(self, *names: str) -> bool:
        """Tell whether the kind has all of these columns."""
        return set(names) <= {column.name for column in self.columns}


@cache
def normal_word(text: str) -> str:
    """Reduce words to what is compared: small letters and digits without accents, `%` kept."""
    plain = unicodedata.normalize("NFKD", _NUMBER_SIGN.sub("no ", text))
    kept = "".join(c for c in plain if unicodedata.category(c) not in ("Mn", "Cf"))
    return " ".join(re.findall(r"[^\W_]+|%", kept.casefold()))


@cache
def _parted(text: str) -> tuple[str, str]:
    """Part a heading from the unit at its end: "Peso neto (lb)" gives ("Peso neto", "lb")."""
    whole = unicodedata.normalize("NFKC", _NUMBER_SIGN.sub("no ", text)).strip()
    bracketed = _UNIT_AT_END.match(whole)
    if bracketed and _is_unit(bracketed["unit"]):
        return bracketed["name"], bracketed["unit"].strip()
    words = whole.rstrip(" .:*").replace(",", " ").replace("%", " %").split()
    last = normal_word(words[-1]).split() if len(words) > 1 else []
    # "kg/lb" ends a heading as one unit does: which of them is meant is then asked.
    if last and all(word in BARE_UNITS for word in last):
        return " ".join(words[:-1]), words[-1]
    return whole, ""


def _is_unit(text: str) -> bool:
    words = normal_word(text).split()
    money = text.strip().upper().partition("/")[0] in _CURRENCIES or any(
        unicodedata.category(sign) == "Sc" for sign in text
    )
    return money or (bool(words) and all(word in BRACKET_UNITS for word in words))


@cache
def normal_heading(text: str) -> str:
    """Reduce a heading to what is compared: as `normal_word`, without the unit at its end."""
    return normal_word(_parted(text)[0])


def heading_unit(text: str) -> str:
    """Return the unit that a heading ends in, as written, or "": "Peso neto (lb)" gives "lb"."""
    return _parted(text)[1]


@cache
def _toml(name: str) -> dict[str, Any]:
    folder = resources.files("pipeline.intake").joinpath("kinds")
    return tomli.loads(folder.joinpath(f"{name}.toml").read_text("utf-8"))


def _column(raw: Mapping[str, Any]) -> Column:
    """Make a column of what its kind says, on top of the common column that it is like."""
    common: dict[str, Any] = _toml("common")[raw["like"]] if "like" in raw else {}
    said = {key: value for key, value in (common | dict(raw)).items() if key != "like"}
    said.pop("headings")
    spellings = {
        language: tuple(
            dict.fromkeys(
                (
                    *common.get("headings", {}).get(language, ()),
                    *raw.get("headings", {}).get(language, ()),
                )
            )
        )
        for language in LANGUAGES
    }
    spoken = tuple(dict.fromkeys(h for language in spellings.values() for h in language))
    return Column(title=spellings["en"][0], headings=spoken, spellings=spellings, **said)


@cache
def kinds() -> dict[str, Kind]:
    """Return every kind by name, registers before what refers to them."""
    found: dict[str, Kind] = {}
    for name in ORDER:
        raw = _toml(name)
        found[name] = Kind(
            name=raw["kind"],
            title=raw["title"],
            about=raw["about"],
            recorded_by=raw["recorded_by"],
            day=raw.get("day", ""),
            key=tuple(raw["key"]),
            slot=tuple(raw["slot"]),
            later_sheet=raw["later_sheet"],
            until=raw.get("until", ""),
            key_also=tuple(raw.get("key_also", ())),
            columns=tuple(_column(column) for column in raw["column"]),
            titles={"en": raw["title"], **raw["titles"]},
            abouts={"en": raw["about"], **raw["abouts"]},
        )
    return found


@cache
def choices(name: str) -> dict[str, str]:
    """Return the accepted spellings of a choice column, each with the value that is stored.

    Each stands there twice where it has accents: with them and, as `normal_word` gives it, without.
    """
    spellings: dict[str, str] = {}
    for stored, languages in _toml("choices")[name].items():
        for spelling in (stored, *(s for spoken in languages.values() for s in spoken)):
            spellings[normal_word(spelling)] = stored
            spellings[re.sub(r"[\s_-]+", " ", spelling.lower())] = stored
    return spellings


@cache
def choice_words(name: str, language: str) -> dict[str, str]:
    """Return the values of a choice column, each with the word a template offers for it."""
    return {stored: spoken[language][0] for stored, spoken in _toml("choices")[name].items()}


def template_words(language: str) -> dict[str, str]:
    """Return what a blank sheet says around its columns, in a language."""
    return _toml("words")[language]
