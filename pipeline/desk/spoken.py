"""The language of a page, and the words that it says: one file of them for each page or few."""

from datetime import date
from functools import cache
from importlib import resources

import tomli
from babel.dates import format_date
from starlette.requests import Request

from pipeline.desk.desk import Sight
from pipeline.desk.issued import statement_of
from pipeline.desk.issued_lines import language_of
from pipeline.desk.session import MEMBER, Who
from pipeline.intake.names import LANGUAGES
from pipeline.intake.told import fill

# Pages that speak every language, and the files with their words; all others are in English.
SPEAK = {
    "/my/farm": ("farm",),
    "/my": (),
    "/m/": (),
    "/sheets": ("sheets", "states"),
    "/sheet/": ("sheet", "states"),
    "/sent/": ("sheets", "states"),
    "/type": ("type",),
    "/awaited": ("awaited",),
    "/sign-in": ("sign_in",),
    "/password": ("sign_in",),
    "/codes": ("members",),
    "/questions": ("members",),
}


@cache
def _table(name: str) -> dict[str, dict[str, str]]:
    text = resources.files("pipeline.desk").joinpath(f"words/{name}.toml").read_text("utf-8")
    return tomli.loads(text)


def member_words(language: str) -> dict[str, str]:
    """Return what a member's pages say around the statement, by name."""
    return _table("member")[language]


def page_words(path: str, language: str) -> dict[str, str]:
    """Return what every page says around its own, and what the pages at an address say."""
    own = next((names for begins, names in SPEAK.items() if path.startswith(begins)), ())
    return _joined(own, language)


@cache
def _joined(own: tuple[str, ...], language: str) -> dict[str, str]:
    words: dict[str, str] = {}
    for name in ("base", *own):
        words |= _table(name)[language]
    return words


def say(words: dict[str, str], name: str, *details: object) -> str:
    """Return a sentence with its places filled."""
    return fill(words[name], [str(one) for one in details])


def day_in(on: date | None, language: str) -> str:
    """Return a day as the language writes it, "" where there is none."""
    return (
        ""
        if on is None
        else format_date(on, "long", locale="en_GB" if language == "en" else language)
    )


def spoken(request: Request, who: Who, sight: Sight) -> str:
    """Return the language of a page for whoever asks for it.

    A member's is that of the statement; a person's that in book.toml, else the browser's, else the
    book's first.
    """
    if not request.url.path.startswith(tuple(SPEAK)) and not who.is_any(MEMBER):
        return "en"
    if who.member_no and (found := statement_of(sight, who.member_no)):
        with (found[0] / found[1].html).open(encoding="utf-8") as page:
            return language_of(page.read(200))
    person = sight.settings.person(who.name) if who.name else None
    if person and person.language:
        return person.language
    wanted = request.headers.get("accept-language", "").casefold().split(",")
    codes = [one.strip()[:2] for one in wanted]
    offered = [code for code in codes if code in LANGUAGES]
    return offered[0] if offered else sight.settings.languages[0]
