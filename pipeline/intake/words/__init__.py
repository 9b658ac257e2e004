"""The words of intake as data: reasons, notes, units, words for numbers."""

import tomllib
from functools import cache
from importlib import resources
from typing import Any


@cache
def word_table(name: str) -> dict[str, Any]:
    """Return one table of this folder, read from `<name>.toml`."""
    text = resources.files("pipeline.intake.words").joinpath(f"{name}.toml").read_text("utf-8")
    return tomllib.loads(text)
