"""The words of intake as data: reasons, notes, units, words for numbers, and their translations."""

from functools import cache
from importlib import resources
from typing import Any

import tomli


@cache
def word_table(name: str) -> dict[str, Any]:
    """Return one table of this folder, read from `<name>.toml`."""
    text = resources.files("pipeline.intake.words").joinpath(f"{name}.toml").read_text("utf-8")
    return tomli.loads(text)


def only_said(file: str) -> bool:
    """Tell whether a file of this folder holds words that are only said and change no result."""
    return file == "said.toml" or file.removesuffix(".toml").count(".") == 1


def said(what: str, language: str) -> str:
    """Return a word of `said.toml` by its name; KeyError where the language lacks it."""
    return word_table("said")[language][what]


def said_detail(english: str, language: str) -> str:
    """Return in a language what a stored detail says; what is no word of `said.toml` stays."""
    names = (name for name, text in word_table("said")["en"].items() if text == english)
    name = next(names, "")
    return said(name, language) if name else english
