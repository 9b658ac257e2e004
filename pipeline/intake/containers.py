"""What a file holds: one sheet, or several in an archive or workbook, each under its own name."""

import bz2
import gzip
import io
import lzma
import zipfile
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import IO, Any

from pipeline.intake.found import NotRead
from pipeline.intake.limits import IntakeLimits, over
from pipeline.intake.workbooks import is_workbook, open_workbook, over_expansion

GZIP, BZIP, XZ, ZIP = b"\x1f\x8b", b"BZh", b"\xfd7zXZ\x00", b"PK\x03\x04"
EMPTY_ZIP = "empty ZIP"
OTHER_ARCHIVES = (
    (b"7z\xbc\xaf\x27\x1c", "7z"),
    (b"Rar!\x1a\x07", "RAR"),
    (b"\x28\xb5\x2f\xfd", "Zstandard"),
    (b"PK\x05\x06", EMPTY_ZIP),
)
PIECE = 1 << 20


@dataclass(frozen=True, slots=True)
class Part:
    """One sheet of a file. `part`: its name inside the file, "" where the file is the sheet.

    `content`: its bytes as text or workbook; `worksheet`: which one, "" for text.
    `problem`: why it cannot be had; `hidden`: worksheets of its file that were not read.
    """

    part: str
    content: bytes
    worksheet: str = ""
    problem: NotRead | None = None
    hidden: tuple[str, ...] = ()

    def name(self, file: str) -> str:
        """Return the name that people see: that of the file and, of several, of the sheet in it."""
        return f"{file} / {self.part}" if self.part else file


def open_parts(content: bytes, limits: IntakeLimits) -> list[Part]:
    """Return the sheets in a file, at least one; a `problem` stands for what cannot be opened."""
    try:
        if len(content) > limits.file_bytes:
            raise over("file_mib", limits, f"{len(content) / (1 << 20):.1f}")
        return _parts(content, limits)
    except NotRead as problem:
        return [Part("", b"", problem=problem)]


def is_packed(content: bytes) -> bool:
    """Tell whether these bytes are an archive or a compressed file."""
    return content[:6].startswith((GZIP, BZIP, XZ, ZIP)) or bool(_other(content))


def _other(content: bytes) -> str:
    return next((what for start, what in OTHER_ARCHIVES if content[:8].startswith(start)), "")


def _parts(content: bytes, limits: IntakeLimits) -> list[Part]:
    head = content[:8]
    if what := _other(content):
        raise NotRead("empty-archive") if what == EMPTY_ZIP else NotRead("archive", what)
    if is_workbook(content):
        return _worksheets(content, "", limits)
    if head.startswith(ZIP):
        return _members(content, limits)
    if head.startswith((GZIP, XZ)) or (head.startswith(BZIP) and content[4:10] == b"1AY&SY"):
        inner = _expand(content, limits)
        if is_workbook(inner):
            return _worksheets(inner, "", limits)
        if is_packed(inner) and not inner.startswith(BZIP):
            raise NotRead("nested")
        return [Part("", inner)]
    return [Part("", content)]


def _worksheets(content: bytes, prefix: str, limits: IntakeLimits) -> list[Part]:
    names, hidden = open_workbook(content, limits)
    if not names:
        raise NotRead("empty-workbook")
    return [
        Part(f"{prefix}{name}", content, name, hidden=tuple(hidden) if name == names[0] else ())
        for name in names
    ]


def _expand(content: bytes, limits: IntakeLimits) -> bytes:
    """Undo gzip, bzip2 or xz; stop as soon as more comes out than may."""
    openers: dict[bytes, Callable[[io.BytesIO], Any]] = {
        GZIP: lambda raw: gzip.GzipFile(fileobj=raw),
        BZIP: lambda raw: bz2.BZ2File(raw),
        XZ: lambda raw: lzma.LZMAFile(raw),
    }
    opener = next(opener for start, opener in openers.items() if content[:6].startswith(start))
    try:
        with opener(io.BytesIO(content)) as stream:
            return _read_at_most(stream, len(content), limits)
    except (OSError, EOFError, zlib.error, lzma.LZMAError, ValueError):
        raise NotRead("damaged") from None


def _read_at_most(stream: IO[bytes], packed: int, limits: IntakeLimits, already: int = 0) -> bytes:
    most = limits.unpacked_bytes(packed)
    pieces: list[bytes] = []
    total = already
    while piece := stream.read(PIECE):
        total += len(piece)
        if total > most:
            raise over_expansion(total, packed, limits)
        pieces.append(piece)
    return b"".join(pieces)


def _members(content: bytes, limits: IntakeLimits) -> list[Part]:
    """Return the sheets of a ZIP file; one that cannot be opened keeps no other back."""
    try:
        archive = zipfile.ZipFile(io.BytesIO(content))
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        raise NotRead("damaged") from None
    with archive:
        infos = [info for info in archive.infolist() if _is_sheet_name(info)]
        if not infos:
            raise NotRead("empty-archive")
        if len(infos) > limits.sheets:
            raise over("sheets", limits, len(infos))
        parts: list[Part] = []
        total = 0
        names: set[str] = set()
        for info in infos:
            name = info.filename
            while name in names:
                name += " (again)"
            names.add(name)
            try:
                found, size = _member(archive, info, name, len(content), total, limits)
                total += size
                parts += found
            except NotRead as problem:
                if problem.code.startswith(("over-expansion", "over-unpacked")):
                    raise
                parts.append(Part(name, b"", problem=problem))
    return parts


def _is_sheet_name(info: zipfile.ZipInfo) -> bool:
    """Leave out folders and what systems add to archives by themselves."""
    path = PurePosixPath(info.filename)
    return not (
        info.is_dir() or "__MACOSX" in path.parts or path.name in (".DS_Store", "Thumbs.db")
    )


def _member(
    archive: zipfile.ZipFile,
    info: zipfile.ZipInfo,
    name: str,
    packed: int,
    total: int,
    limits: IntakeLimits,
) -> tuple[list[Part], int]:
    if info.flag_bits & 1:
        raise NotRead("encrypted-archive")
    try:
        with archive.open(info) as stream:
            inner = _read_at_most(stream, packed, limits, total)
    except (
        zipfile.BadZipFile,
        zlib.error,
        lzma.LZMAError,
        OSError,
        EOFError,
        ValueError,
    ):
        raise NotRead("damaged") from None
    except NotImplementedError:
        raise NotRead("archive-method") from None
    if is_workbook(inner):
        return _worksheets(inner, f"{name} / ", limits), len(inner)
    if is_packed(inner) and not (inner.startswith(BZIP) and inner[4:10] != b"1AY&SY"):
        raise NotRead("nested")
    return [Part(name, inner)], len(inner)
