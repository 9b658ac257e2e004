"""Issued documents on a page of the desk: the very text that was issued, its figures made links."""

import base64
import hashlib
import re
from functools import lru_cache
from pathlib import Path

from markupsafe import escape
from starlette.responses import Response

from pipeline.desk.desk import Sight
from reports.manifest import MANIFEST, Manifest, Statement, read_manifest

_STYLE = re.compile(r"<style>(.*?)</style>", re.S)
_CODE = re.compile(r'<span class="c">([^<]+)</span>')


@lru_cache(maxsize=4)
def _manifest(folder: Path) -> Manifest:
    # An issued folder never changes, and its manifest may be large.
    return read_manifest(folder)


@lru_cache(maxsize=4)
def _by_member(folder: Path) -> dict[str, Statement]:
    return {entry.member_no: entry for entry in _manifest(folder).statements}


def last_manifest(sight: Sight, season: str) -> tuple[Path, Manifest] | None:
    """Return folder and manifest of a season's last issue, or None before the first."""
    for line in reversed(sight.journal.lines):
        if line.what == "issued" and line.body["season"] == season:
            folder = sight.book.issued / line.body["folder"]
            if (folder / MANIFEST).is_file():
                return folder, _manifest(folder)
    return None


def statement_of(sight: Sight, member_no: str) -> tuple[Path, Statement] | None:
    """Return folder and entry of a member's latest statement, of any season; None where none is."""
    for season in reversed([one.code for one in sight.settings.seasons]):
        found = last_manifest(sight, season)
        if found:
            entry = _by_member(found[0]).get(member_no)
            if entry is not None:
                return found[0], entry
    return None


def issued_page(text: str, *, figures: str, before: str = "") -> Response:
    """Return an issued page as an answer whose policy allows its own style sheet and nothing else.

    `figures`: the address below which each printed code is explained, "" for none. `before`: HTML
    that stands above the document.
    """
    if figures:
        text = _CODE.sub(
            lambda code: f'<a class="c" href="{escape(figures)}/{code[1]}">{code[1]}</a>', text
        )
    text = text.replace("<main>", f"<main>{before}", 1)
    hashes = " ".join(
        "'sha256-" + base64.b64encode(hashlib.sha256(style.encode()).digest()).decode() + "'"
        for style in _STYLE.findall(text)
    )
    return Response(text, media_type="text/html", headers={"x-style": hashes})
