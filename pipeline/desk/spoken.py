"""The language of a member's pages: that of the statement, else that of the telephone."""

import tomllib
from datetime import date
from functools import cache
from importlib import resources

from babel.dates import format_date
from starlette.requests import Request

from pipeline.desk.desk import Sight
from pipeline.desk.issued import statement_of
from pipeline.desk.issued_lines import language_of
from pipeline.desk.session import MEMBER, Who
from pipeline.intake.names import LANGUAGES
from pipeline.intake.told import fill

# Pages of members, also before a code is typed; all others are in English.
OWN = ("/my", "/m/")


@cache
def member_words(language: str) -> dict[str, str]:
    """Return what a member's pages say around the statement, by name."""
    text = resources.files("pipeline.desk").joinpath("words/member.toml").read_text("utf-8")
    return tomllib.loads(text)[language]


def say(words: dict[str, str], name: str, *details: str) -> str:
    """Return a sentence with its places filled."""
    return fill(words[name], details)


def day_in(on: date | None, language: str) -> str:
    """Return a day as the language writes it, "" where there is none."""
    return (
        ""
        if on is None
        else format_date(on, "long", locale="en_GB" if language == "en" else language)
    )


def spoken(request: Request, who: Who, sight: Sight) -> str:
    """Return the language of a page for whoever asks for it."""
    if not request.url.path.startswith(OWN) and not who.is_any(MEMBER):
        return "en"
    if who.member_no and (found := statement_of(sight, who.member_no)):
        with (found[0] / found[1].html).open(encoding="utf-8") as page:
            return language_of(page.read(200))
    wanted = request.headers.get("accept-language", "").casefold().split(",")
    codes = [one.strip()[:2] for one in wanted]
    offered = [code for code in codes if code in LANGUAGES]
    return offered[0] if offered else sight.settings.languages[0]
