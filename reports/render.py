"""Turns view models into bytes: Jinja2 for pages, Typst and pikepdf for print."""

from __future__ import annotations

import datetime as dt
import io
import json
from functools import cache
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path

import fontpkg_noto_sans
import pikepdf
import typst
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from reports.facts import ReportError, Row

TEMPLATES = Path(__file__).parent / "templates"
FONTS = Path(fontpkg_noto_sans.ROOT) / "files"
# Kept for years and read aloud by a screen reader: archive form with tags, and accessibility.
_STANDARDS: list[typst.PDFStandard] = ["a-2a", "ua-1"]


class UnprintableText(ReportError):
    """A letter that no installed font can show."""


@cache
def _pages() -> Environment:
    # select_autoescape() would look at the file's ending and leave *.html.j2 unescaped.
    return Environment(
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
def _compiler(template: str) -> typst.Compiler:
    # One compiler a process and template: fonts are read once, not once a statement.
    fonts = typst.Fonts(False, False, [str(FONTS)])
    return typst.Compiler(TEMPLATES / f"{template}.typ", root=TEMPLATES, font_paths=fonts)


def pdf(template: str, model: Row, *, day: dt.date, subject: str) -> bytes:
    """A tagged PDF/A-2a and PDF/UA-1; the same model and day give the same bytes.

    UnprintableText, naming `subject`, where a letter is in no installed font.
    """
    stamp = dt.datetime.combine(day, dt.time(), dt.UTC)
    data = json.dumps(model, ensure_ascii=False, sort_keys=True)
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


def _packed(made: bytes) -> bytes:
    """The same PDF in about half the bytes, with an id that depends on its content alone."""
    packed = io.BytesIO()
    with pikepdf.open(io.BytesIO(made)) as document:
        document.save(
            packed,
            object_stream_mode=pikepdf.ObjectStreamMode.generate,
            compress_streams=True,
            deterministic_id=True,
        )
    return packed.getvalue()


@cache
def made_with() -> str:
    """A hash of the templates and the versions that draw them: a change makes all anew."""
    seal = sha256()
    for path in sorted(TEMPLATES.iterdir()):
        seal.update(path.name.encode() + path.read_bytes())
    for package in ("typst", "pikepdf", "jinja2", "fontpkg-noto-sans", "babel"):
        seal.update(f"{package} {version(package)}".encode())
    return seal.hexdigest()
