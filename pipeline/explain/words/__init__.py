"""The words around a figure in each language: title, formula, and what the rows behind it say."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cache
from importlib import resources
from typing import Any

import tomli

from pipeline.explain.figure import Figure
from pipeline.intake.kinds import choice_words
from pipeline.intake.told import fill
from pipeline.money import money_text
from pipeline.settings import Settings

# Words of these columns are those that their sheets accept.
CHOICES = ("activity", "form", "method", "money_entry", "species")
Clause = Sequence[str | None]


@cache
def explain_words(language: str) -> dict[str, dict[str, str]]:
    """Return the tables of a language's words: `row`, `said`, `title` and others."""
    text = resources.files("pipeline.explain.words").joinpath(f"{language}.toml").read_text("utf-8")
    return tomli.loads(text)


def number_in(value: str, language: str) -> str:
    """Return a number as a language writes it: "1,240.50" is "1 240,50" in French."""
    plain = value.replace(",", "")
    if language == "en" or not re.fullmatch(r"-?\d+(\.\d+)?", plain):
        return value
    # English, the command line's own, needs none of it.
    from babel.numbers import format_decimal

    places = len(plain.partition(".")[2])
    pattern = f"#,##0.{'0' * places}" if places else "#,##0"
    return format_decimal(Decimal(plain), pattern, locale=language)


@dataclass(frozen=True, slots=True, kw_only=True)
class Speech:
    """One language, and the book whose figures are told in it."""

    language: str
    settings: Settings

    def title(self, figure: Figure) -> str:
        """Return what a figure is called; those of the group have English names alone."""
        own = {} if figure.group else explain_words(self.language).get("title", {})
        return own.get(figure.name, figure.title)

    def formula(self, figure: Figure) -> str:
        """Return how a figure is made, as the words after "is"."""
        own = {} if figure.group else explain_words(self.language).get("formula", {})
        return own.get(figure.name, figure.formula)

    def unit(self, unit: str) -> str:
        """Return a unit, with the book's currency for money."""
        said = explain_words(self.language)["unit"].get(unit, unit)
        return said.replace("money", self.settings.currency)

    def said(self, name: str, *details: str) -> str:
        """Return one of the phrases around rows, filled."""
        return fill(explain_words(self.language)["said"][name], details)

    def amount(self, text: str) -> str:
        """Return an amount as the language writes its number."""
        return number_in(text, self.language)

    def row(self, clauses: Sequence[Clause | None]) -> str:
        """Return what a row says: its clauses one after the other.

        A clause is the name of a phrase and its details, each behind the letter of what it is: n a
        number, d a day, m an amount in minor units, w a word of ours as list:value, b a name out of
        book.toml, t any other text. A clause that lacks one of its details is not said.
        """
        words = explain_words(self.language)["row"]
        said = [
            fill(words[str(clause[0])], [self._detail(str(one)) for one in clause[1:]])
            for clause in clauses
            if clause is not None and None not in clause
        ]
        return "".join(said)

    def _detail(self, marked: str) -> str:
        sort, text = marked[0], marked[1:]
        if sort == "n":
            return number_in(text, self.language)
        if sort == "m":
            return number_in(money_text(int(text), self.settings.decimals), self.language)
        if sort == "d":
            return self.day(text)
        if sort == "w":
            return self.word(*text.split(":", 1))
        return self._name(text) if sort == "b" else text

    def day(self, text: str) -> str:
        """Return a day as the language writes it; in English as sheets do."""
        if self.language == "en":
            return text
        from babel.dates import format_date

        return format_date(date.fromisoformat(text[:10]), "medium", locale=self.language)

    def word(self, name: str, value: str) -> str:
        """Return a word of a list: of those that sheets accept, or of a table of our own."""
        if name in CHOICES:
            own = {} if self.language == "en" else choice_words(name, self.language)
        else:
            own = explain_words(self.language).get(name, {})
        return own.get(value, value.replace("_", " "))

    def _name(self, text: str) -> str:
        """Return a deduction's or premium's name in the language, where book.toml gives one."""
        for one in (*self.settings.deductions, *self.settings.premiums):
            names: dict[str, str] = dict(getattr(one, "names", {}))
            if one.name == text:
                return names.get(self.language, text)
        return text

    def decision(self, decision: dict[str, Any]) -> str:
        """Return one decision on a row as a sentence."""
        who = (decision["by"], self.day(decision["at"][:10]), decision["because"])
        if decision["action"] != "amend":
            return self.said(
                {"count": "counted", "leave-out": "left_out"}[decision["action"]], *who
            )
        values = (decision["old_value"] or "", decision["new_value"])
        if not decision["unit"]:
            return self.said("amended", *who, *values)
        own = (decision["reads"], decision["own_unit"], decision["unit"], decision["worth"])
        return self.said("amended_unit", *who, *values, *own)
