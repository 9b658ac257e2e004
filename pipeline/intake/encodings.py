"""From the bytes of a text file to UTF-8 bytes, with the encoding found and any doubt about it."""

import codecs
import re
from dataclasses import dataclass

import numpy as np

from pipeline.intake.found import Note, NotRead

# What the first bytes of things that are not sheets look like: (start, what it is).
PICTURES = (
    (b"\x89PNG", "PNG"),
    (b"\xff\xd8\xff", "JPEG"),
    (b"GIF8", "GIF"),
    (b"II*\x00", "TIFF"),
    (b"MM\x00*", "TIFF"),
    (b"BM", "BMP"),
    (b"%PDF", "PDF"),
)
MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
# One byte a letter, as office programs and old machines write it: the likeliest first.
ONE_BYTE = ("cp1252", "mac_roman", "cp850", "cp1250", "iso8859_9", "cp1254", "iso8859_15", "cp437")
NAMES = {
    "cp1252": "Windows-1252",
    "mac_roman": "Mac Roman",
    "cp850": "DOS 850",
    "cp1250": "Windows-1250",
    "iso8859_9": "ISO 8859-9",
    "cp1254": "Windows-1254",
    "iso8859_15": "ISO 8859-15",
    "cp437": "DOS 437",
}
# Of as many letters of several bytes, one may be broken before the text is taken for another
# encoding: in one byte a letter, hardly two bytes in a row happen to be UTF-8.
WHOLE_FOR_ONE_BROKEN = 2
PIECE = 1 << 20
SAMPLE = 1 << 18
CONTROL = re.compile(rb"[\x00-\x08\x0b\x0c\x0e-\x1f]")
FILLED = re.compile(rb"[^ \t\r\n\x00\x1a]")
VISIBLE = "\ufffd".encode()


@dataclass(frozen=True, slots=True)
class Text:
    """A text file as UTF-8: `data` from byte `start` on; `encoding` is what it arrived in."""

    data: bytes
    start: int
    encoding: str
    notes: tuple[Note, ...] = ()


def to_utf8(content: bytes) -> Text:
    """Return a text file as UTF-8; NotRead for empty files, pictures and what is no text."""
    head = content[:SAMPLE]
    if not FILLED.search(content):
        raise NotRead("empty")
    for start, what in PICTURES:
        if head.startswith(start) and (start != b"BM" or b"\x00" in head[:64]):
            raise NotRead("picture", what)
    for mark, encoding in MARKS:
        if head.startswith(mark):
            return _marked(content, encoding, len(mark))
    controls = _controls(content)
    # Mostly there is none, and so no need to ask whether it is text at all.
    if controls and (wide := _wide_without_mark(head)):
        return _marked(content, wide, 0)
    if controls and _is_binary(head[:4096]):
        raise NotRead("not-text")
    if _is_utf8(content):
        return _without_controls(content, 0, "utf-8", ()) if controls else Text(content, 0, "utf-8")
    return _nearly_utf8(content) or _one_byte(content)


def _marked(content: bytes, encoding: str, start: int) -> Text:
    if encoding == "utf-8":
        if _is_utf8(content):
            return _without_controls(content, start, encoding, ())
        return _nearly_utf8(content[start:]) or _one_byte(content[start:])
    try:
        text = content[start:].decode(encoding)
    except UnicodeDecodeError as error:
        place = error.start + start + 1
        raise NotRead("encoding-cut", place, encoding[:6].upper()) from None
    return _without_controls(text.encode("utf-8", "replace"), 0, encoding, ())


def _wide_without_mark(head: bytes) -> str:
    """Return the encoding of two-byte text without a byte order mark, or nothing."""
    sample = head[:4096]
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    half = len(sample) // 2
    if half and odd * 10 > half * 7 and even * 20 < half:
        return "utf-16-le"
    if half and even * 10 > half * 7 and odd * 20 < half:
        return "utf-16-be"
    return ""


def _is_binary(sample: bytes) -> bool:
    return sample.count(0) * 10 > len(sample) or len(CONTROL.findall(sample)) * 20 > len(sample)


def _is_utf8(content: bytes) -> bool:
    """Tell whether all is UTF-8, piece by piece: a large file is never decoded as a whole."""
    decoder = codecs.getincrementaldecoder("utf-8")()
    try:
        for at in range(0, len(content), PIECE):
            piece = content[at : at + PIECE]
            # Plain letters need no decoding, unless a letter was cut at the end of the last piece.
            if decoder.getstate()[0] or not piece.isascii():
                decoder.decode(piece)
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return False
    return True


def _nearly_utf8(content: bytes) -> Text | None:
    """Return UTF-8 text with a few broken bytes, each shown as a mark; None where it is no UTF-8.

    The cells that hold a mark are sent back when they are typed, the others are read.
    """
    broken = whole = 0
    for line in content.splitlines():
        if line.isascii():
            continue
        text = line.decode("utf-8", "replace")
        marks = text.count("\ufffd") - line.count(VISIBLE)
        broken += marks
        whole += sum(not letter.isascii() for letter in text) - marks
    if broken * WHOLE_FOR_ONE_BROKEN > whole:
        return None
    note = Note("broken-bytes", (str(broken),))
    return _without_controls(content.decode("utf-8", "replace").encode(), 0, "utf-8", (note,))


def _without_controls(data: bytes, start: int, encoding: str, notes: tuple[Note, ...]) -> Text:
    """Put a visible mark in the place of each control character; they would hide in a cell."""
    if data[-1:] == b"\x1a":
        data = data[:-1]
    found = _controls(data)
    if found:
        data = CONTROL.sub(VISIBLE, data)
        notes = (*notes, Note("control-characters", (str(found),)))
    return Text(data, start, encoding, notes)


def _controls(data: bytes) -> int:
    """Count control characters other than tabs and line ends."""
    found = 0
    for at in range(0, len(data), PIECE):
        letters = np.frombuffer(data, np.uint8, min(PIECE, len(data) - at), at)
        low = int(np.count_nonzero(letters < 32) - np.count_nonzero(letters == 10))
        # Mostly nothing is left: tabs and carriage returns are counted only where something is.
        found += low and low - sum(int(np.count_nonzero(letters == white)) for white in (9, 13))
    return found


def _one_byte(content: bytes) -> Text:
    """Decode text with one byte a letter: by the library's ranking, Windows-1252 where it ties."""
    # Imported here: most sheets are UTF-8, and the library takes a while to load.
    from charset_normalizer import from_bytes

    lines = [line for line in content[: SAMPLE * 8].splitlines() if not line.isascii()]
    sample = b"\n".join([content[:2048], *lines[:2000]])
    fits = [name for name in ONE_BYTE if _decodes(content, name)]
    if not fits:
        raise NotRead("encoding")
    ranked = list(from_bytes(sample, cp_isolation=fits, threshold=0.5))
    best = [match for match in ranked if match.chaos <= ranked[0].chaos + 0.02]
    # Encodings that give the very same text share one match.
    tied = [n for n in fits if any(n in match.could_be_from_charset for match in best)] or fits
    chosen = tied[0]
    others = [name for name in tied if name != chosen]
    notes = _encoding_notes(lines or [content[:200]], chosen, others)
    return _without_controls(content.decode(chosen).encode(), 0, chosen, notes)


def _decodes(content: bytes, encoding: str) -> bool:
    try:
        content.decode(encoding)
    except UnicodeDecodeError:
        return False
    return True


def _encoding_notes(lines: list[bytes], chosen: str, others: list[str]) -> tuple[Note, ...]:
    """Say which encoding was taken, and show a word that another likely one spells otherwise."""
    name = NAMES[chosen]
    word = re.search(rb"[\w\x80-\xff]*[\x80-\xff][\w\x80-\xff]*", b"\n".join(lines[:50]))
    shown = word[0][:40] if word else b""
    as_read = shown.decode(chosen, "replace")
    told = Note("encoding", (name, as_read))
    for other in others:
        otherwise = shown.decode(other, "replace")
        if otherwise != as_read:
            return told, Note("encoding-doubt", (NAMES[other], otherwise, as_read))
    return (told,)
