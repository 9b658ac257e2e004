"""Seals what a backup holds: AES-256-GCM under a key from a passphrase (scrypt), or not at all.

AES-GCM: NIST SP 800-38D; scrypt: RFC 7914, with the cost that it names for files (N = 2^17 here).
"""

import hashlib
import hmac
import os
from pathlib import Path

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

from pipeline.errors import BackupError

NONCE = 12
LEAST_LETTERS = 12
COST = {"n": 1 << 17, "r": 8, "p": 1}


def read_key(path: str) -> str:
    """Return the passphrase in a file, from WEIGHBOOK_BACKUP_KEY where none is named, or ""."""
    if not path:
        return os.environ.get("WEIGHBOOK_BACKUP_KEY", "")
    try:
        key = Path(path).expanduser().read_text("utf-8").strip()
    except (OSError, UnicodeDecodeError):
        raise BackupError(
            f"The key file {path} cannot be read. Look at its name and rights."
        ) from None
    if not key:
        raise BackupError(f"The key file {path} is empty. Write a passphrase into it.")
    return key


class Seal:
    """Names, seals and opens the objects of one backup place."""

    def __init__(self, key: str = "", salt: bytes = b"") -> None:
        self.sealed = bool(key)
        if not key:
            return
        if len(key) < LEAST_LETTERS:
            raise BackupError(f"The passphrase is too short: take {LEAST_LETTERS} letters or more.")
        both = Scrypt(salt=salt, length=64, **COST).derive(key.encode())
        self._aes = AESGCM(both[:32])
        self._naming = both[32:]

    def name(self, content: bytes) -> str:
        """Return the name of an object: SHA-256 of its content, keyed where it is sealed.

        Keyed, so that nobody without the key can tell whether a known file is among them.
        """
        if self.sealed:
            return hmac.new(self._naming, content, hashlib.sha256).hexdigest()
        return hashlib.sha256(content).hexdigest()

    def close(self, content: bytes, about: str) -> bytes:
        """Seal content; `about`, such as its name, is all that it can be opened as."""
        if not self.sealed:
            return content
        nonce = os.urandom(NONCE)
        return nonce + self._aes.encrypt(nonce, content, about.encode())

    def open(self, content: bytes, about: str) -> bytes:
        """Open what was sealed; BackupError where the key is another or a byte was changed."""
        if not self.sealed:
            return content
        try:
            return self._aes.decrypt(content[:NONCE], content[NONCE:], about.encode())
        except (InvalidTag, ValueError):
            raise BackupError(
                f"{about[:20]} in the backup cannot be opened: the passphrase is another, or it "
                "was changed. Try an older snapshot, or another place."
            ) from None
