"""What each rule says and asks for in other languages; the English stands with the rules."""

from collections.abc import Mapping
from functools import cache
from importlib import resources

import tomli

from checks.rule import Rule


@cache
def rule_words(language: str) -> Mapping[str, Mapping[str, str]]:
    """Return, by rule code, `say` and `do` in a language other than English."""
    text = resources.files("checks.words").joinpath(f"{language}.toml").read_text("utf-8")
    return tomli.loads(text)


def sentences(rule: Rule, language: str = "en") -> tuple[str, str]:
    """Return what a rule says and what it asks for; KeyError where a language lacks the rule."""
    if language == "en":
        return rule.say, rule.do
    words = rule_words(language)[rule.code]
    return words["say"], words["do"]
