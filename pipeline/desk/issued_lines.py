"""The lines of an issued statement's page: what each says, to ask about it, and its figures."""

import html
import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from babel import Locale, UnknownLocaleError
from babel.numbers import NumberFormatError, parse_decimal

_TAG = re.compile(r"<[^>]*>")
_CODE = re.compile(r'<span class="c">([^<]+)</span>')
_BOLD = re.compile(r"<b>([^<]*)</b>")
_NUMBER = re.compile(r"[-\u2212]?\d[\d.,'\u2019\u00a0\u202f ]*")
_FIRST = re.compile(r"<(?:b|small|span)\b")
_LANGUAGE = re.compile(r'<html lang="([a-z]{2})')
# What a line of the page begins with that says one thing; a paragraph does only with a code.
_BEGINS = ("<li>", "<tr", "<p>")
# A line that somebody asks about is kept up to so many letters.
MOST_LETTERS = 300


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """One line of an issued statement: its number, the words on it, its code ("" for none).

    `label`: the words before its figure; `values`: its figures as printed, where it has a code;
    `at`: the line of the page's text where a link may stand.
    """

    no: int
    says: str
    label: str = ""
    code: str = ""
    at: int = 0
    values: tuple[str, ...] = ()


def language_of(text: str) -> str:
    """Return the language of an issued page."""
    found = _LANGUAGE.search(text)
    return found[1] if found else "en"


def lines_of(text: str) -> list[Shown]:
    """Return the lines of an issued statement that say something, in their order."""
    return list(_lines(text.split("\n")))


def _lines(raw: list[str]) -> Iterator[Shown]:
    start = next((n for n, line in enumerate(raw) if line.startswith("<main>")), 0)
    at, number = start, 0
    while at < len(raw):
        line, first = raw[at], at
        at += 1
        if not line.startswith(_BEGINS) or "<th" in line:
            continue
        if line.startswith("<p>") and not _CODE.search(line):
            continue
        parts = [line]
        following = raw[at] if at < len(raw) else ""
        # A row of two lines: what it is above its figures, or the day above the rest.
        if following.startswith("<tr") and (
            line.startswith('<tr class="of">') or following.startswith('<tr class="s">')
        ):
            parts.append(following)
            at += 1
        code = _CODE.search("".join(parts))
        whole = "".join(part.replace(code[0], "") if code else part for part in parts)
        # Where the link stands: in the last cell that runs over the whole width.
        place = first if line.startswith('<tr class="of">') else at - 1
        number += 1
        yield Shown(
            no=number,
            says=_plain(whole)[:MOST_LETTERS],
            label=_plain(_FIRST.split(line, maxsplit=1)[0]).rstrip(" :"),
            code=code[1] if code else "",
            at=place,
            values=_values(parts, code[0]) if code else (),
        )


def _plain(markup: str) -> str:
    """Return the words of a piece of a page, a space where a tag parts them."""
    return " ".join(html.unescape(_TAG.sub(" ", markup)).split())


def _values(parts: list[str], code: str) -> tuple[str, ...]:
    """Return the figures beside a code: that in bold type, else those of the cells behind it."""
    whole = "".join(parts)
    bold = _BOLD.findall(parts[-1]) or _BOLD.findall(whole)
    if bold:
        return (html.unescape(bold[-1]),)
    behind = parts[1] if parts[1:] else whole.partition(code)[2]
    cells = [_plain(cell) for cell in behind.split("<td>")[1:]]
    return tuple(cell for cell in cells if cell)


def with_asking(text: str, address: str, word: str) -> str:
    """Return an issued page with a link to ask behind each line that has no code of its own."""
    raw = text.split("\n")
    for one in _lines(raw):
        if not one.code:
            raw[one.at] += f' <a class="c" href="{address}?line={one.no}">{html.escape(word)}</a>'
    return "\n".join(raw)


def printed_value(text: str, code: str, *, money: bool) -> tuple[str, str]:
    """Return a figure's label and the figure as a statement printed it; "" where it did not.

    Of several figures on the line the first is the weight and the last the money.
    """
    found = next((one for one in lines_of(text) if one.code == code and one.values), None)
    if found is None:
        return "", ""
    return found.label, found.values[-1] if money else found.values[0]


def same_figure(printed: str, now: str, language: str) -> bool | None:
    """Tell whether a printed figure is that of today, at its own decimals; None where unreadable.

    `now`: as `explain` writes it, with a point before the decimals. Signs are the statement's.
    """
    first, second = _NUMBER.search(printed), _NUMBER.search(now)
    if first is None or second is None:
        return None
    written = first[0].strip().replace("\u2212", "-").lstrip("-")
    try:
        value = parse_decimal(written, locale=Locale.parse(language))
    except (NumberFormatError, UnknownLocaleError, ValueError):
        return None
    today = abs(Decimal(second[0].replace(",", "").replace("\u2212", "-").strip()))
    places = Decimal(1).scaleb(value.as_tuple().exponent)  # type: ignore[arg-type]
    return value == today.quantize(places, rounding="ROUND_HALF_UP")
