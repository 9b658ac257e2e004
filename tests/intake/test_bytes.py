"""What arrives as bytes: encodings, archives, workbooks, and all that is none of these."""

import bz2
import gzip
import io
import lzma
import zipfile
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

import pytest
import xlsxwriter

from pipeline.intake.containers import open_parts
from pipeline.intake.found import NotRead
from pipeline.intake.limits import DEFAULT, IntakeLimits
from pipeline.intake.read import part_cells

TEXT = "Payment,Date,Member,Amount,Cashier\nP-1,2026-05-04,1041,12.50,Félé Tarlé\n"


def problem(content: bytes, limits: IntakeLimits = DEFAULT) -> NotRead:
    """Return why a file's first sheet cannot be read."""
    with pytest.raises(NotRead) as raised:
        part_cells(open_parts(content, limits)[0], limits)
    return raised.value


def zipped(**members: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return out.getvalue()


def workbook(*, hidden: bool = False) -> bytes:
    """Make a workbook: a title above the headings, blank rows, a formula, a date, two sheets."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"default_date_format": "dd/mm/yyyy"}) as book:
        page = book.add_worksheet("Week 14")
        page.write(2, 0, "Velunda Ridge")
        page.write_row(4, 0, ["Payment", "Date", "Member", "Amount"])
        page.write(5, 0, "P-1")
        page.write_datetime(5, 1, datetime(2026, 5, 4))
        page.write_number(5, 2, 1041)
        page.write_formula(5, 3, "=6+6.5", None, 12.5)
        page.write_row(7, 0, ["P-2", "04/05/2026", "0042", 0.1 + 0.2])
        book.add_worksheet("Empty")
        other = book.add_worksheet("Week 15")
        other.write_row(0, 0, ["Payment", "Date", "Member", "Amount"])
        other.write_row(1, 0, ["P-3", "x", 7, 60.0])
        if hidden:
            other.hide()
    return out.getvalue()


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-32", "cp1252"]
)
def test_encodings_are_found(encoding: str) -> None:
    cells = part_cells(open_parts(TEXT.encode(encoding), DEFAULT)[0])
    assert cells.frame["c4"].to_list() == ["Félé Tarlé"]
    assert cells.headings[0] == "Payment"


def test_another_encoding_is_told_and_a_doubt_shown() -> None:
    text = TEXT.replace("Félé Tarlé", "Núñez Peña")
    cells = part_cells(open_parts(text.encode("cp1252"), DEFAULT)[0])
    assert cells.encoding == "cp1252"
    assert cells.frame["c4"].to_list() == ["Núñez Peña"]
    assert cells.notes[0].code == "encoding" and "Windows-1252" in cells.notes[0].sentence


def test_a_cut_two_byte_text_is_refused() -> None:
    assert problem(TEXT.encode("utf-16")[:-1]).code == "encoding-cut"


def test_control_characters_are_made_visible_and_told() -> None:
    cells = part_cells(open_parts(TEXT.replace("Félé", "Fe\x00le\x07").encode(), DEFAULT)[0])
    assert cells.frame["c4"].to_list() == ["Fe\ufffdle\ufffd Tarlé"]
    assert [note.code for note in cells.notes] == ["control-characters"]


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "empty"),
        (b" \r\n\n", "empty"),
        (b"\x89PNG\r\n\x1a\n0000", "picture"),
        (b"%PDF-1.7 ...", "picture"),
        (bytes(range(256)) * 4, "not-text"),
        (b"7z\xbc\xaf\x27\x1c....", "archive"),
        (b"PK\x03\x04 and no more", "damaged"),
        (gzip.compress(TEXT.encode(), mtime=0)[:-12], "damaged"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "damaged-workbook"),
        (
            b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le"),
            "encrypted",
        ),
        (workbook()[:3000], "damaged-workbook"),
        (gzip.compress(zipped(a=TEXT.encode())), "nested"),
    ],
)
def test_what_is_no_sheet_is_named(content: bytes, code: str) -> None:
    found = problem(content)
    assert found.code == code
    assert str(found).endswith(".")


@pytest.mark.parametrize("pack", [gzip.compress, bz2.compress, lzma.compress])
def test_a_compressed_sheet_is_the_sheet(pack: Callable[[bytes], bytes]) -> None:
    (part,) = open_parts(pack(TEXT.encode()), DEFAULT)
    assert part.part == ""
    assert part_cells(part).frame.height == 1


def test_a_zip_holds_several_sheets_and_one_bad_one_keeps_no_other_back() -> None:
    content = zipped(
        **{
            "a.csv": TEXT.encode(),
            "b.zip": zipped(x=b"1"),
            "c.xlsx": workbook(),
            "__MACOSX/._a": b"x",
        }
    )
    parts = open_parts(content, DEFAULT)
    names = ["a.csv", "b.zip", "c.xlsx / Week 14", "c.xlsx / Week 15"]
    assert [part.part for part in parts] == names
    assert parts[1].problem is not None and parts[1].problem.code == "nested"
    assert parts[2].name("all.zip") == "all.zip / c.xlsx / Week 14"
    assert part_cells(parts[0]).frame.height == 1


def test_a_locked_zip_is_named_as_such() -> None:
    content = bytearray(zipped(**{"a.csv": TEXT.encode()}))
    # The flag that says a member is locked, in its local and its central header.
    content[6] |= 1
    content[content.index(b"PK\x01\x02") + 8] |= 1
    found = problem(bytes(content))
    assert found.code == "encrypted-archive" and "password" in str(found)


def test_an_archive_that_expands_without_end_is_refused() -> None:
    for content in (gzip.compress(b"0" * (40 << 20), mtime=0), zipped(a=b"0" * (40 << 20))):
        found = problem(content)
        assert found.code == "over-expansion"
        assert "limit: 200" in str(found) and "expansion under [intake] in book.toml" in str(found)


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("file_mib", TEXT.encode() * 40_000),
        ("sheets", zipped(a=TEXT.encode(), b=TEXT.encode())),
        ("columns", (",".join(f"h{n}" for n in range(50)) + "\n").encode()),
        ("unpacked_mib", gzip.compress(TEXT.encode() * 40_000, mtime=0)),
    ],
)
def test_each_limit_is_named_with_how_to_raise_it(name: str, content: bytes) -> None:
    values = {"columns": 30}
    limits = replace(DEFAULT, **{name: values.get(name, 1)})
    found = problem(content, limits)
    assert found.code == f"over-{name.replace('_', '-')}"
    assert f"raise {name} under [intake]" in str(found)
    part_cells(open_parts(content, limits.lifted())[0], limits.lifted())


def test_worksheets_are_sheets_with_the_rows_a_spreadsheet_shows() -> None:
    first, second = open_parts(workbook(), DEFAULT)
    assert (first.part, second.part) == ("Week 14", "Week 15")
    cells = part_cells(first)
    assert (cells.header_row, cells.titles) == (5, ("Velunda Ridge",))
    assert cells.frame.drop("beyond").rows() == [
        (6, "P-1", "2026-05-04", "1041", "12.5"),
        (8, "P-2", "04/05/2026", "0042", "0.3"),
    ]
    assert part_cells(second).frame["c3"].to_list() == ["60"]


def test_a_hidden_worksheet_is_told_and_not_read() -> None:
    (only,) = open_parts(workbook(hidden=True), DEFAULT)
    assert [note.code for note in part_cells(only).notes] == ["hidden-worksheet"]


def test_a_worksheet_with_a_stray_cell_far_out_is_refused() -> None:
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        page = book.add_worksheet()
        page.write(0, 0, "Payment")
        page.write(1_048_575, 16_383, "x")
    found = problem(out.getvalue())
    assert found.code == "over-workbook-cells" and "stray cells" in str(found)


def test_a_place_that_the_library_would_make_room_for_ends_no_process_of_ours() -> None:
    # 360 letters of column: the workbook library asked for 61 GiB, and the process was ended.
    with zipfile.ZipFile(io.BytesIO(workbook())) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    page = "xl/worksheets/sheet1.xml"
    members[page] = members[page].replace(b'<c r="D5"', b'<c r="D' + b"A" * 360 + b'5"')
    found = problem(zipped(**members))
    assert found.code == "damaged-workbook" and "save it as XLSX" in str(found)


def test_a_workbook_with_two_worksheets_of_one_name_is_damaged() -> None:
    # Asked for by its name, the first would be read twice and the other never.
    with zipfile.ZipFile(io.BytesIO(workbook())) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    names = "xl/workbook.xml"
    members[names] = members[names].replace(b'name="Week 15"', b'name="Week 14"')
    assert problem(zipped(**members)).code == "damaged-workbook"


def open_document(*, locked: bool = False) -> bytes:
    """Make a small OpenDocument spreadsheet with blank rows above its headings."""
    cell = '<table:table-cell office:value-type="string"><text:p>{}</text:p></table:table-cell>'
    kg = (
        '<table:table-cell office:value-type="float" office:value="12.5">'
        "<text:p>12,50</text:p></table:table-cell>"
    )
    day = (
        '<table:table-cell office:value-type="date" office:date-value="2026-05-04">'
        "<text:p>04.05.26</text:p></table:table-cell>"
    )
    head = "".join(cell.format(name) for name in ("Payment", "Date", "Member", "Amount"))
    rows = (
        '<table:table-row table:number-rows-repeated="3"><table:table-cell/></table:table-row>'
        f"<table:table-row>{head}</table:table-row>"
        f"<table:table-row>{cell.format('P-1')}{day}{cell.format('007')}{kg}</table:table-row>"
    )
    spaces = " ".join(
        f'xmlns:{short}="urn:oasis:names:tc:opendocument:xmlns:{short}:1.0"'
        for short in ("office", "table", "text")
    )
    content = (
        '<?xml version="1.0" encoding="UTF-8"?>'
        f'<office:document-content {spaces} office:version="1.2">'
        f'<office:body><office:spreadsheet><table:table table:name="Sheet">{rows}</table:table>'
        "</office:spreadsheet></office:body></office:document-content>"
    )
    lock = "<manifest:encryption-data/>" if locked else ""
    members = {
        "mimetype": b"application/vnd.oasis.opendocument.spreadsheet",
        "content.xml": content.encode(),
        "META-INF/manifest.xml": f"<manifest:manifest>{lock}</manifest:manifest>".encode(),
    }
    return zipped(**members)


def test_an_open_document_is_read_like_a_workbook() -> None:
    (part,) = open_parts(open_document(), DEFAULT)
    cells = part_cells(part)
    assert cells.header_row == 4
    assert cells.frame.drop("beyond").rows() == [(5, "P-1", "2026-05-04", "007", "12.5")]


def test_a_locked_open_document_is_named_as_such() -> None:
    assert problem(open_document(locked=True)).code == "encrypted"


def test_a_few_broken_bytes_leave_a_sheet_in_utf8() -> None:
    lines = "Payment,Date,Member,Amount\nP-1,Zoë,Noé,1\nP-2,Noé,b,2\nP-3,a,b,3\n".encode()
    broken = lines.replace("Noé,1".encode(), b"No\xe9,1")
    cells = part_cells(open_parts(broken, DEFAULT)[0])
    assert cells.encoding == "utf-8"
    assert cells.frame["c1"].to_list() == ["Zoë", "Noé", "a"]
    assert cells.frame["c2"].to_list() == ["No\ufffd", "b", "b"]
    assert [note.code for note in cells.notes] == ["broken-bytes"]


def test_one_byte_a_letter_is_not_taken_for_broken_utf8() -> None:
    """By chance a pair of letters may be UTF-8 too: most others are not."""
    text = "Payment,Date,Member,Amount\nP-1,Zoë,Ã©,1\nP-2,Noé,à,2\n"
    cells = part_cells(open_parts(text.encode("cp1252"), DEFAULT)[0])
    assert cells.encoding == "cp1252"
    assert cells.frame["c1"].to_list() == ["Zoë", "Noé"]


@pytest.mark.parametrize(
    "content",
    [
        # Lines of blank characters only, which one reader takes for lines and the other for none.
        b"sep=p\n\n",
        b"\n   \xc2\x85",
        # An archive that says it needs a reader of the year to come.
        b"PK\x03\x04" + bytes([245, 0]) + bytes(20) + b"PK\x01\x02" + bytes([20, 0, 245, 0])
        + bytes(38) + b"PK\x05\x06" + bytes(4) + b"\x01\x00\x01\x00\x2e\x00\x00\x00\x1a\x00\x00\x00"
        + bytes(2),
    ],
)  # fmt: skip
def test_what_holds_nothing_is_told_in_a_sentence(content: bytes) -> None:
    with pytest.raises(NotRead) as told:
        for part in open_parts(content, DEFAULT):
            part_cells(part)
    assert str(told.value).endswith(".")
