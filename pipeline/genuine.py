"""Tells whether a statement is genuine: from its code, a picture of it, or a file as issued."""

import base64
import hashlib
import json
import re
from dataclasses import dataclass
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from pipeline.book.book import Book
from pipeline.book.keys import book_keys, public_key
from pipeline.errors import FigureError, GenuineError
from reports.genuine import NotGenuine, Signed, read_code
from reports.manifest import MANIFEST

_PICTURES = {".png", ".jpg", ".jpeg", ".bmp", ".gif", ".webp", ".tif", ".tiff"}
_IN_PAGE = re.compile(r'<span class="k2">([^<]+)</span>')


@dataclass(frozen=True, slots=True, kw_only=True)
class Genuine:
    """What was found genuine: what its code says, and of a file whether it is as it was issued.

    `as_issued` is None where no issue with a signed manifest is at hand. `later`: the number of a
    later version of the same statement that the book holds, or "".
    """

    signed: Signed
    as_issued: bool | None
    later: str


def key_of(book: Book | None, key: Path | None) -> Ed25519PublicKey:
    """Return the public key of a book or of a file; FigureError where neither is given."""
    if key is not None:
        return public_key(key.read_bytes())
    if book is None:
        raise FigureError("Name the book with --book, or the cooperative's key with --key.")
    return book_keys(book).public


def genuine(what: str, key: Ed25519PublicKey, *, book: Book | None = None) -> Genuine:
    """Check a statement by its code, a picture of its code, its page or its PDF.

    GenuineError where the signature does not hold, no code can be read, or the file is not as it
    was issued; FigureError where there is no such file.
    """
    path = Path(what)
    named = "*" not in what
    if named and not path.is_file():
        raise FigureError(
            f"There is no file {what}. Look at the name; a code is given whole, with its asterisks."
        )
    text = _code_in(path) if named else what
    try:
        signed = read_code(text, key)
    except NotGenuine as error:
        raise GenuineError(f"Not genuine. {error}") from None
    as_issued = _as_issued(path, key) if named and path.suffix.lower() not in _PICTURES else None
    if as_issued is False:
        raise GenuineError(
            f"Not genuine. The file's code says statement {signed.number}, {signed.name}, but the "
            "file is not as it was issued: it was changed since, or belongs to another statement."
        )
    return Genuine(signed=signed, as_issued=as_issued, later=_later(book, signed))


def _code_in(path: Path) -> str:
    kind = path.suffix.lower()
    if kind in (".html", ".htm"):
        found = _IN_PAGE.search(path.read_text("utf-8", errors="replace"))
        # The page escapes what its code holds.
        if found:
            from html import unescape

            return unescape(found[1])
    elif kind in _PICTURES:
        from PIL import Image, UnidentifiedImageError

        try:
            with Image.open(path) as picture:
                return _read_off(picture)
        except UnidentifiedImageError:
            pass
    elif kind == ".pdf":
        from pikepdf import Pdf, PdfError

        try:
            with Pdf.open(path) as document:
                return str(document.docinfo.get("/Keywords", ""))
        except PdfError:
            pass
    raise GenuineError(
        f"{path} holds no code that can be read. Photograph the square code on the paper straight "
        "from above, in good light, or name the page or PDF as it was issued."
    )


def _read_off(picture: object) -> str:
    import zxingcpp

    for found in zxingcpp.read_barcodes(picture):
        if found.text.count("*") == 8:
            return found.text
    raise GenuineError(
        "No code can be read off this picture. Take it again straight from above, in good light, "
        "so that the square fills most of it."
    )


def _as_issued(path: Path, key: Ed25519PublicKey) -> bool | None:
    """Whether a file is in the signed manifest above it with these very bytes; None without one."""
    path = path.resolve()
    for folder in path.parents:
        manifest, signature = folder / MANIFEST, folder / f"{MANIFEST}.sig"
        if not manifest.is_file() or not signature.is_file():
            continue
        said = manifest.read_bytes()
        try:
            key.verify(base64.b64decode(signature.read_text("ascii")), said)
        except (InvalidSignature, ValueError):
            raise GenuineError(
                f"{manifest} was changed, or signed with another key: it proves nothing."
            ) from None
        kept = json.loads(said)["files"].get(path.relative_to(folder).as_posix())
        return kept == hashlib.sha256(path.read_bytes()).hexdigest()
    return None


def _later(book: Book | None, signed: Signed) -> str:
    """Return the number of a later version that the book has issued of the same statement."""
    if book is None:
        return ""
    of, _, version = signed.number.rpartition("-")
    for line in reversed(book.journal().lines):
        manifest = book.issued / str(line.body.get("folder", "")) / MANIFEST
        if line.what != "issued" or not manifest.is_file():
            continue
        for entry in json.loads(manifest.read_bytes())["statements"]:
            if entry["number"].rpartition("-")[0] == of:
                newer = version.isdecimal() and entry["version"] > int(version)
                return str(entry["number"]) if newer else ""
    return ""
