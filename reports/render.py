"""Turns view models into bytes: Jinja2 for pages, Typst and pikepdf for print."""

from __future__ import annotations

import datetime as dt
import json
import os
import re
import tempfile
from functools import cache
from importlib import import_module
from importlib.metadata import distributions
from itertools import pairwise
from pathlib import Path
from typing import Any, cast
from unicodedata import bidirectional, category, combining

import pikepdf
import typst
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from reports.facts import ReportError, Row

TEMPLATES = Path(__file__).parent / "templates"
_FONT_PACKAGE = "fontpkg-noto-"
# Kept for years and read aloud by a screen reader: archive form with tags, and accessibility.
_STANDARDS: list[typst.PDFStandard] = ["a-2a", "ua-1"]


# Drawings and codes, which no line holds.
_AS_IT_IS = frozenset({"svg", "qr", "signature"})
_LONG = re.compile(r"[^\s\u200b]{24,}")
# A line of small print across the page holds more, and a name that is not parted reads better.
_LONGER = {"sheets": re.compile(r"[^\s\u200b]{80,}")}
_SIGN = re.compile(r"[-_./]")
_VIRAMA, _JOINER = 9, "\u200d"


class UnprintableText(ReportError):
    """A letter that no installed font can show."""


class _Pages(Environment):
    """Looks a name up in a model's dicts first: a name of a dict's own never hides a figure."""

    def getattr(self, obj: Any, attribute: str) -> Any:
        try:
            return obj[attribute]
        except (TypeError, LookupError):
            return super().getattr(obj, attribute)


@cache
def _pages() -> _Pages:
    # select_autoescape() would look at the file's ending and leave *.html.j2 unescaped.
    return _Pages(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def page(template: str, model: Row) -> bytes:
    """A page as UTF-8 HTML; StrictUndefined stops at a name the model does not hold."""
    text = _pages().get_template(f"{template}.html.j2").render(model)
    return text.encode()


@cache
def font_packages() -> tuple[str, ...]:
    """The installed font packages by name; one more script is one more package."""
    names = {found.metadata["Name"].lower() for found in distributions()}
    return tuple(sorted(name for name in names if name.startswith(_FONT_PACKAGE)))


@cache
def font_folders() -> tuple[str, ...]:
    """Where their fonts lie."""
    homes = (import_module(name.replace("-", "_")) for name in font_packages())
    return tuple(str(Path(home.ROOT) / "files") for home in homes)


@cache
def _compiler(template: str) -> typst.Compiler:
    # One compiler a process and template: fonts are read once, not once a statement.
    # Documents are drawn side by side, one a process: threads of one layout get in the way.
    os.environ.setdefault("RAYON_NUM_THREADS", "1")
    fonts = typst.Fonts(False, False, list(font_folders()))
    return typst.Compiler(TEMPLATES / f"{template}.typ", root=TEMPLATES, font_paths=fonts)


def pdf(template: str, model: Row, *, day: dt.date, subject: str) -> bytes:
    """A tagged PDF/A-2a and PDF/UA-1; the same model and day give the same bytes.

    UnprintableText, naming `subject`, where a letter is in no installed font.
    """
    stamp = dt.datetime.combine(day, dt.time(), dt.UTC)
    data = json.dumps(_softened(model), ensure_ascii=False, sort_keys=True)
    try:
        made, warnings = _compiler(template).compile_with_warnings(
            format="pdf",
            sys_inputs={"data": data},
            pdf_standards=_STANDARDS,
            timestamp=stamp,
        )
    except typst.TypstError as error:
        if "could not be displayed" in error.message:
            raise UnprintableText(
                f"{subject}: {error.message.split('error: ')[-1]}. Install the font package of "
                "that script, or correct the text on its sheet."
            ) from error
        raise ReportError(f"{subject}: {error.message}") from error
    # A layout that never settles, say, would print wrong page numbers.
    if warnings or not isinstance(made, bytes):
        told = "; ".join(warning.message for warning in warnings)
        raise ReportError(f"{subject}: the PDF is not sound. {told}")
    return _packed(made)


def _softened(value: Any, key: str = "") -> Any:
    """The model with unseen places in words too long for a line, where they may break.

    After the signs of a file's name, or anywhere in a word that has none.
    """
    if key in _AS_IT_IS:
        return value
    if isinstance(value, str):
        return _LONGER.get(key, _LONG).sub(_soft, value)
    if isinstance(value, dict):
        return {name: _softened(inner, name) for name, inner in cast(Row, value).items()}
    if isinstance(value, list):
        return [_softened(inner, key) for inner in cast(list[Any], value)]
    return value


def _soft(word: re.Match[str]) -> str:
    parted = _SIGN.sub("\\g<0>\u200b", word[0])
    return _LONG.sub(_spread, parted)


def _spread(run: re.Match[str]) -> str:
    """A run of letters with places to break between any two that do not belong together."""
    if any(bidirectional(letter) == "AL" for letter in run[0]):
        # An unseen space would part letters that are joined in writing.
        return run[0]
    made = run[0][0]
    for before, letter in pairwise(run[0]):
        belongs = category(letter)[0] == "M" or combining(before) == _VIRAMA
        made += letter if belongs or _JOINER in (before, letter) else "\u200b" + letter
    return made


def _packed(made: bytes) -> bytes:
    """The same PDF in a third of the bytes, with an id that depends on its content alone."""
    # Through files: handing thousands of small pieces to Python takes as long as packing them.
    with tempfile.TemporaryDirectory(prefix="weighbook-") as folder:
        whole, packed = Path(folder) / "whole.pdf", Path(folder) / "packed.pdf"
        whole.write_bytes(made)
        with pikepdf.open(whole) as document:
            document.save(
                packed,
                object_stream_mode=pikepdf.ObjectStreamMode.generate,
                compress_streams=True,
                deterministic_id=True,
                # It is PDF 1.7 before and after, as its metadata say.
                fix_metadata_version=False,
            )
        return packed.read_bytes()
