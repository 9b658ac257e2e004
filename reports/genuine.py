"""The code on a statement by which anybody with the public key can see that it is genuine.

The code is one line of text, `1*number*day*name*kg*currency*value*balance*signature`: what the
statement says in plain figures, signed with Ed25519 (RFC 8032), which gives the same signature
each time. It stands on paper as a QR code (ISO/IEC 18004) and in the files as text.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import zxingcpp
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from reports.facts import Row

Sign = Callable[[bytes], bytes]
"""Signs bytes with the cooperative's key."""

_FORM = "1"
# Longer names would make the modules too small for a worn telephone on cheap paper.
_NAME = 40
# The white modules before a run of black ones, and the run.
_RUNS = re.compile(b"(\xff*)(\x00+)")


class NotGenuine(ValueError):
    """The code was not signed with this key, or is no code of a statement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signed:
    """What a statement's code says; figures as plain decimal numbers, `balance` with its sign."""

    number: str
    day: str
    name: str
    kg: str
    currency: str
    value: str
    balance: str

    def text(self) -> str:
        """The code without its signature; the sign that parts the fields is taken out of names."""
        parts = (_FORM, self.number, self.day, self.name[:_NAME], self.kg, self.currency,
                 self.value, self.balance)  # fmt: skip
        return "*".join(re.sub(r"[*\x00-\x1f]", " ", part) for part in parts)


def code(signed: Signed, sign: Sign) -> str:
    """The whole code: what is said, and the signature over it."""
    text = signed.text()
    made = base64.urlsafe_b64encode(sign(text.encode())).decode().rstrip("=")
    return f"{text}*{made}"


def read_code(text: str, key: Ed25519PublicKey) -> Signed:
    """What a code says, once its signature holds; NotGenuine otherwise."""
    said, _, signature = text.strip().rpartition("*")
    fields = said.split("*")
    if len(fields) != 8 or fields[0] != _FORM:
        raise NotGenuine("This is no code of a statement, or a part of it is missing.")
    try:
        given = base64.b64decode(signature + "=" * (-len(signature) % 4), b"-_", validate=True)
        key.verify(given, said.encode())
    except (InvalidSignature, ValueError):
        raise NotGenuine("The code was changed, or signed with another key.") from None
    _, number, day, name, kg, currency, value, balance = fields
    return Signed(number=number, day=day, name=name, kg=kg, currency=currency, value=value,
                  balance=balance)  # fmt: skip


@cache
def _stroke(white: bytes, dark: bytes) -> str:
    return f"m{len(white)} 0h{len(dark)}" if white else f"h{len(dark)}"


def _drawn(text: str) -> tuple[int, bytes]:
    """Modules a side of a QR code, and all of them row by row: a byte each, 0 where it is black."""
    made = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode, ec_level="M")
    drawn: Any = zxingcpp.write_barcode_to_image(made, add_quiet_zones=False)
    return int(drawn.shape[0]), bytes(drawn)


def modules(text: str) -> Row:
    """A QR code as a picture of a dot a module, which takes a sixth of the bytes of strokes."""
    side, dots = _drawn(text)
    return {"side": side, "dots": list(dots)}


def qr_svg(text: str, label: str) -> str:
    """A QR code as a drawing of one path, with its name for who cannot see it."""
    side, black = _drawn(text)
    # Drawn as strokes, which take the fewest bytes of text.
    path = "".join(
        f"M0 {y}" + "".join([_stroke(white, dark) for white, dark in _RUNS.findall(line)])
        for y, line in enumerate(black[at : at + side] for at in range(0, side * side, side))
    )
    # Four modules of white around it, as the standard asks.
    return (
        f'<svg viewBox="-4 -4.5 {side + 8} {side + 8}" '
        f'role="img" aria-label="{label}"><path d="{path}" stroke="#000"/></svg>'
    )
