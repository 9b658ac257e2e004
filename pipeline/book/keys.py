"""The key with which a book signs its statements: one half kept private, the other public."""

import os
from dataclasses import dataclass
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
    load_pem_public_key,
)

from pipeline.book.book import Book
from pipeline.errors import BookError

_PRIVATE, PUBLIC = "sign.pem", "public.pem"


@dataclass(frozen=True, slots=True)
class Keys:
    """Both halves of a book's key."""

    private: Ed25519PrivateKey

    @property
    def raw(self) -> bytes:
        """The private half, 32 bytes (RFC 8032)."""
        return self.private.private_bytes_raw()

    @property
    def public(self) -> Ed25519PublicKey:
        """The half that everybody may have."""
        return self.private.public_key()

    @property
    def public_pem(self) -> str:
        """The public half as PEM text."""
        form = PublicFormat.SubjectPublicKeyInfo
        return self.public.public_bytes(Encoding.PEM, form).decode()


def book_keys(book: Book) -> Keys:
    """Return the book's key, making it where there is none yet: whoever holds the book's lock.

    It is kept in `keys/`, which only its owner can read; BookError where others could, or where
    the file is no such key. It is in no journal: a book restored without it signs with a new one,
    and its statements are then drawn anew.
    """
    path = book.path / "keys" / _PRIVATE
    if not path.exists():
        _make(path)
    if os.name == "posix" and path.stat().st_mode & 0o077:
        raise BookError(
            f"{path} signs statements and can be read by others. Close it: chmod 600 {path}"
        )
    try:
        key = load_pem_private_key(path.read_bytes(), None)
    except (ValueError, TypeError):
        key = None
    if not isinstance(key, Ed25519PrivateKey):
        raise BookError(
            f"{path} is no Ed25519 key. Restore it from a backup; or move it away, and the next "
            "issue makes a new one and draws every statement anew."
        )
    return Keys(key)


def public_key(text: bytes) -> Ed25519PublicKey:
    """Return the public key in a PEM text; BookError where it is none."""
    try:
        key = load_pem_public_key(text)
    except ValueError:
        key = None
    if not isinstance(key, Ed25519PublicKey):
        raise BookError(
            "This is no public key of a book. Ask the cooperative for its file public.pem."
        )
    return key


def _make(path: Path) -> None:
    path.parent.mkdir(mode=0o700, exist_ok=True)
    key = Ed25519PrivateKey.generate()
    pem = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    part = path.with_suffix(".part")
    part.unlink(missing_ok=True)
    # Made private from the first byte on, and whole before it has its name.
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(pem)
        file.flush()
        os.fsync(file.fileno())
    (path.parent / PUBLIC).write_text(Keys(key).public_pem, encoding="ascii")
    os.replace(part, path)
