"""Worksheets of XLSX, XLSM, XLS and ODS files as rows of text: values only, no formula is run."""

import io
import re
import zipfile
import zlib
from collections.abc import Iterator
from typing import Any

import fastexcel
import polars as pl

from pipeline.intake.apart import opens
from pipeline.intake.found import NotRead
from pipeline.intake.kinds import template_words
from pipeline.intake.layout import Header, find_header
from pipeline.intake.limits import IntakeLimits, over
from pipeline.intake.names import LANGUAGES

OLD_OFFICE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
# Rows and cells of a worksheet, and those that name their place as every program writes it.
STARTS = re.compile(rb"<(?:\w+:)?(?:c|row)[\s/>]")
PLACES = re.compile(rb'<(?:\w+:)?(?:c|row)\s(?:[^<>]*\s)?r="([A-Z]{0,3})(\d{1,7})"')
# How the library names an error cell, and what a spreadsheet shows for it
# (ECMA-376 part 1, error values; the list is from memory).
ERROR = re.compile(r"Error\((\w+)\)")
ERRORS = {
    "Div0": "#DIV/0!",
    "NA": "#N/A",
    "Name": "#NAME?",
    "Null": "#NULL!",
    "Num": "#NUM!",
    "Ref": "#REF!",
    "Value": "#VALUE!",
    "GettingData": "#GETTING_DATA",
}
ODS_ERROR = re.compile(rb'<table:table-cell [^>]*calcext:value-type="error"[^>]*>')
ODS_VALUE = re.compile(rb' office:(?:value-type|value|string-value)="[^"]*"')
PIECE = 1 << 20


def is_workbook(content: bytes) -> bool:
    """Tell whether these bytes are a workbook, by what is inside and not by the name."""
    if content[:8] == OLD_OFFICE:
        return True
    if content[:4] != b"PK\x03\x04":
        return False
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            names = set(archive.namelist())
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        return b"[Content_Types].xml" in content[:4096] or b"mimetypeapplication" in content[:256]
    return "[Content_Types].xml" in names or "content.xml" in names or "EncryptedPackage" in names


def open_workbook(content: bytes, limits: IntakeLimits) -> tuple[list[str], list[str]]:
    """Return the names of the worksheets that can be seen and have content, and of those hidden."""
    _refuse_locked(content)
    plain = False
    if content[:8] != OLD_OFFICE:
        plain = _refuse_too_large(content, limits)
    # Where it cannot be told how much it spans, the library is tried where it can do no harm.
    if not plain and not opens(content):
        raise NotRead("damaged-workbook")
    seen: list[str] = []
    hidden: list[str] = []
    # The page of a template that says how to fill it in holds no rows.
    how_to = {template_words(language)["how"] for language in LANGUAGES}
    reader = _reader(content)
    if len(set(reader.sheet_names)) != len(reader.sheet_names):
        # No spreadsheet writes two of one name, and asking for either would give the first twice.
        raise NotRead("damaged-workbook")
    for name in (name for name in reader.sheet_names if name not in how_to):
        sheet = _load(reader, name, n_rows=1)
        if sheet.total_height and sheet.width:
            (seen if sheet.visible == "visible" else hidden).append(name)
    if len(seen) > limits.sheets:
        raise over("sheets", limits, len(seen))
    return seen, hidden


def worksheet_rows(content: bytes, name: str, limits: IntakeLimits) -> tuple[Header, pl.DataFrame]:
    """Return the header of a worksheet and the rows below it: `row_no`, `c0`, …, `beyond`."""
    # skip_rows=0: without it, blank rows at the top are left out and row numbers are wrong.
    frame = _with_errors(_load(_reader(_with_errors_told(content)), name, skip_rows=0))
    frame = frame.rename({old: f"c{index}" for index, old in enumerate(frame.columns)})
    head = [[cell or "" for cell in row] for row in frame.head(limits.header_within).iter_rows()]
    header = find_header(head, limits)
    body = frame.slice(header.row_no)
    # A date without a time of day is a date.
    midnight = pl.all().str.replace(r"^(\d{4}-\d\d-\d\d)[ T]00:00:00(\.0+)?$", "$1")
    # A time of day without a date comes as one on the day before the first.
    time = pl.all().str.replace(r"^1899-12-3[01][ T](\d\d:\d\d)(:\d\d(\.\d+)?)?$", "$1")
    body = (
        body.with_columns(midnight)
        .with_columns(time)
        .with_columns(pl.when(pl.all() != "").then(pl.all()))
    )
    return header, body.with_row_index("row_no", offset=header.row_no + 1)


def _with_errors_told(content: bytes) -> bytes:
    """Return an ODS file in which error cells are text that shows the error; others as they are.

    Such a cell has an empty text or nought for its value, which the library would take.
    """
    if content[:4] != b"PK\x03\x04" or b"opendocument.spreadsheet" not in content[:200]:
        return content
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        if "content.xml" not in archive.namelist():
            return content
        members = {name: archive.read(name) for name in archive.namelist()}
    told = ODS_ERROR.sub(
        lambda cell: ODS_VALUE.sub(b"", cell[0]).replace(b" ", b' office:value-type="string" ', 1),
        members["content.xml"],
    )
    if told == members["content.xml"]:
        return content
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for name, inner in (members | {"content.xml": told}).items():
            archive.writestr(name, inner)
    return packed.getvalue()


def _with_errors(sheet: Any) -> pl.DataFrame:
    """Return the cells of a worksheet; one without a result holds the error that it shows."""
    batch, errors = _guarded(sheet.to_arrow_with_errors)
    frame = pl.DataFrame(pl.from_arrow(batch))
    found: dict[int, dict[int, str]] = {}
    for error in errors.errors if errors else ():
        shown = ERROR.search(error.detail)
        row, column = error.offset_position
        found.setdefault(column, {})[row] = ERRORS.get(shown[1] if shown else "", "#ERROR!")
    for column, cells in found.items():
        told = pl.Series(list(cells.values()), dtype=pl.String)
        frame = frame.with_columns(frame.to_series(column).scatter(list(cells), told))
    return frame


def _reader(content: bytes) -> Any:
    return _guarded(lambda: fastexcel.read_excel(content))


def _load(reader: Any, name: str, **how: Any) -> Any:
    return _guarded(lambda: reader.load_sheet(name, header_row=None, dtypes="string", **how))


def _guarded(read: Any) -> Any:
    """Call the workbook library; whatever it fails with is told as damage or a password."""
    try:
        return read()
    except BaseException as error:
        # A fault inside the library comes as a "panic", which is no Exception.
        if not isinstance(error, Exception) and type(error).__name__ != "PanicException":
            raise
        if "password" in str(error).lower() or "encrypt" in str(error).lower():
            raise NotRead("encrypted") from None
        raise NotRead("damaged-workbook") from None


def _refuse_locked(content: bytes) -> None:
    if content[:8] == OLD_OFFICE:
        if "EncryptedPackage".encode("utf-16-le") in content:
            raise NotRead("encrypted")
        return
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            if any(info.flag_bits & 1 for info in archive.infolist()):
                raise NotRead("encrypted")
            manifest = "META-INF/manifest.xml"
            if (
                manifest in archive.namelist()
                and archive.getinfo(manifest).file_size < PIECE
                and b"encryption-data" in archive.read(manifest)
            ):
                raise NotRead("encrypted")
    except (zipfile.BadZipFile, zlib.error, OSError, ValueError, NotImplementedError, EOFError):
        raise NotRead("damaged-workbook") from None


def _refuse_too_large(content: bytes, limits: IntakeLimits) -> bool:
    """Unpack once without keeping it: it must not grow without end, nor span empty space.

    Returns whether each row and cell names its place plainly, so that what it spans is sure; in an
    ODS file none does.
    """
    most = limits.unpacked_bytes(len(content))
    total = starts = places = 0
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            for info in archive.infolist():
                extent = Extent()
                for piece in _pieces(archive, info):
                    total += len(piece)
                    if total > most:
                        raise over_expansion(total, len(content), limits)
                    if "worksheets/" in info.filename:
                        extent.widen(piece)
                if extent.rows * extent.columns > limits.workbook_cells * 1000:
                    raise over("workbook_cells", limits, extent.rows, extent.columns)
                starts += extent.starts
                places += extent.places
    except (zipfile.BadZipFile, zlib.error, OSError, ValueError, NotImplementedError, EOFError):
        raise NotRead("damaged-workbook") from None
    return starts == places > 0


def over_expansion(total: int, packed: int, limits: IntakeLimits) -> NotRead:
    """Return the refusal of a file that unpacks to too much."""
    name = "unpacked_mib" if total > limits.unpacked_mib << 20 else "expansion"
    return over(name, limits, f"{max(packed >> 10, 1)}", f"{total / (1 << 20):.0f}")


def _pieces(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> Iterator[bytes]:
    with archive.open(info) as member:
        while piece := member.read(PIECE):
            yield piece


class Extent:
    """How many rows and columns a worksheet spans, as far as its rows and cells name their places.

    `starts`: how many there are; `places`: how many of them name theirs plainly.
    """

    def __init__(self) -> None:
        self.rows = self.columns = self.starts = self.places = 0
        self._rest = b""

    def widen(self, piece: bytes) -> None:
        """Take in one more piece of the worksheet's XML."""
        whole, opened, rest = (self._rest + piece).rpartition(b"<")
        self._rest = opened + rest
        self.starts += len(STARTS.findall(whole))
        found = PLACES.findall(whole)
        self.places += len(found)
        if found:
            self.rows = max(self.rows, *(int(row) for _, row in found))
            self.columns = max(self.columns, *(_column(text) for text in {one for one, _ in found}))


def _column(letters: bytes) -> int:
    """Return the number of a column: 1 for A, 27 for AA; 0 for a row, which names none."""
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number
