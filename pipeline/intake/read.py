"""From the bytes of a sheet to its cells as text, each row with the number a spreadsheet shows.

Two readers give the same rows: a fast one for plain files and a careful one for the rest.
"""

import csv
import io
from dataclasses import dataclass

import polars as pl

from pipeline.intake.kinds import kinds, normal_heading

DELIMITERS = (",", ";", "\t", "|")
# What the first bytes of things that are not sheets look like: (start, what it is).
PICTURES = (
    (b"\x89PNG", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"GIF8", "a GIF picture"),
    (b"II*\x00", "a TIFF picture"),
    (b"MM\x00*", "a TIFF picture"),
    (b"BM", "a BMP picture"),
    (b"%PDF", "a PDF document"),
)
WORKBOOKS = ((b"PK\x03\x04", "a workbook or archive"), (b"\xd0\xcf\x11\xe0", "an old workbook"))


class NotRead(Exception):
    """A sheet's rows cannot be had; `code` says why in one word, `str()` in a sentence."""

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


@dataclass(frozen=True, slots=True)
class Cells:
    """The cells of one sheet as text.

    `frame`: `row_no` (Int32), one text column per heading named `c0`, `c1`, …, and `beyond`: what
    stands to the right of the last heading. Rows without any text are left out.
    """

    headings: tuple[str, ...]
    header_row: int
    frame: pl.DataFrame
    reader: str


def decode(content: bytes) -> str:
    """Return the text of a sheet; NotRead for pictures, workbooks and unknown encodings."""
    if not content.strip():
        raise NotRead("empty", "The file is empty. Send the sheet again.")
    for start, what in PICTURES:
        if content.startswith(start):
            raise NotRead(
                "picture", f"This is {what}. It is kept, and listed as still to be typed."
            )
    for start, what in WORKBOOKS:
        if content.startswith(start):
            raise NotRead("workbook", f"This is {what}. Save the sheet as CSV and send that.")
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        encoding = "utf-16"
    else:
        encoding = "utf-8-sig"
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError as error:
        raise NotRead(
            "encoding",
            f"Byte {error.start + 1} is no {encoding.removesuffix('-sig').upper()} text. "
            "Save the sheet as CSV in UTF-8 and send it again.",
        ) from None
    if "\x00" in text:
        raise NotRead("not-text", "This is no text file. Save the sheet as CSV and send that.")
    return text


def delimiter_of(header: str) -> str:
    """Return the delimiter that splits the header line into the most headings known to any kind."""
    known = {
        normal_heading(spelling)
        for kind in kinds().values()
        for column in kind.columns
        for spelling in column.headings
    }

    def found(delimiter: str) -> tuple[int, int]:
        cells = header.split(delimiter)
        return sum(normal_heading(cell) in known for cell in cells), len(cells)

    return max(DELIMITERS, key=found)


def read_cells(content: bytes) -> Cells:
    """Read a sheet by the fast reader where it is plain, else by the careful one."""
    text = decode(content)
    if not is_plain(text):
        return read_careful(text)
    try:
        return read_fast(text)
    except pl.exceptions.PolarsError:
        # A row longer than the header: the careful reader keeps what stands beyond it.
        return read_careful(text)


def is_plain(text: str) -> bool:
    """Tell whether a sheet has no quotes, no lone carriage return and no blank first line."""
    return (
        '"' not in text
        and text.count("\r") == text.count("\r\n")
        and bool(text.split("\n", 1)[0].strip())
    )


def read_fast(text: str) -> Cells:
    """Read a plain sheet; a polars error where a row is longer than the header."""
    header = text.split("\n", 1)[0].rstrip("\r")
    delimiter = delimiter_of(header)
    headings = tuple(header.split(delimiter))
    names = [f"c{index}" for index in range(len(headings))]
    body = text.split("\n", 1)[1] if "\n" in text else ""
    schema = dict.fromkeys(names, pl.String)
    if body.strip():
        frame = pl.read_csv(
            body.encode(),
            has_header=False,
            separator=delimiter,
            quote_char=None,
            schema=schema,
        )
    else:
        frame = pl.DataFrame(schema=schema)
    return _cells(headings, 1, frame.with_row_index("row_no", offset=2), "fast")


def read_careful(text: str) -> Cells:
    """Read any delimited text; NotRead where its quotes do not close or it has no header."""
    lines = text.splitlines(keepends=True)
    first = next((line for line in lines if line.strip()), "")
    delimiter = delimiter_of(first.rstrip("\r\n"))
    headings: tuple[str, ...] = ()
    header_row = row_no = 0
    numbers: list[int] = []
    rows: list[list[str | None]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        # enumerate, not line_num: a quoted line break is no new row in a spreadsheet.
        for row_no, cells in enumerate(reader, start=1):
            if not any(cell.strip() for cell in cells):
                continue
            if not headings:
                headings, header_row = tuple(cells), row_no
                continue
            numbers.append(row_no)
            rows.append(_fit(cells, len(headings)))
    except csv.Error as error:
        raise NotRead(
            "quotes",
            f"After row {row_no} the quotation marks do not close or stand wrong ({error}). "
            "Mend that row and send the sheet again.",
        ) from None
    names = [f"c{index}" for index in range(len(headings))] + ["beyond"]
    frame = pl.DataFrame(rows, schema=dict.fromkeys(names, pl.String), orient="row")
    return _cells(headings, header_row, frame.with_columns(row_no=pl.Series(numbers)), "careful")


def _fit(cells: list[str], width: int) -> list[str | None]:
    """Bring a row to the header's width; what stands beyond it goes into one last cell."""
    fitted: list[str | None] = [cell or None for cell in cells[:width]]
    fitted += [None] * (width - len(fitted))
    beyond = [cell for cell in cells[width:] if cell.strip()]
    return [*fitted, " | ".join(beyond) or None]


def _cells(headings: tuple[str, ...], header_row: int, frame: pl.DataFrame, reader: str) -> Cells:
    if "beyond" not in frame.columns:
        frame = frame.with_columns(beyond=pl.lit(None, pl.String))
    names = [f"c{index}" for index in range(len(headings))]
    text_columns = [*names, "beyond"]
    frame = frame.select(pl.col("row_no").cast(pl.Int32), *text_columns).filter(
        pl.any_horizontal(pl.col(text_columns).str.strip_chars().fill_null("") != "")
    )
    return Cells(headings, header_row, frame, reader)
