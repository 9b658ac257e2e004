"""Makes the sheets of the library that are no plain text: `python -m tests.cases.make_binary`.

The same bytes on any machine: nothing is compressed that two libraries could compress in two ways,
and no clock is read.
"""

import bz2
import io
import struct
import zipfile
import zlib
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import xlsxwriter

HEAD = (
    "Station,Date,Book,Receipt,Line,Member,Species,Form,Grade,Bags,"
    "Gross kg,Tare kg,Net kg,Moisture %,Scale,Recorder"
).split(",")
CLOCK = (2026, 5, 4, 12, 0, 0)
NAME = "weighings_KES_2026-W19"
OLD_OFFICE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
ODS_TYPE = "application/vnd.oasis.opendocument.spreadsheet"


def row(no: int, member: str = "10019", day: str = "2026-05-04", who: str = "Ibo Marren") -> str:
    return f"KES,{day},K01,{no},1,{member},arabica,parchment,1,1,61.2,1.2,60.0,11.0,KES-1,{who}"


def sheet(*rows: str) -> str:
    return "\n".join([",".join(HEAD), *rows, ""])


def cells(no: int, member: object = "10019", day: object = "2026-05-04") -> list[Any]:
    """A row for a worksheet, with numbers as numbers."""
    start: list[Any] = ["KES", day, "K01", no, 1, member, "arabica", "parchment", 1, 1]
    return [*start, 61.2, 1.2, 60, 11, "KES-1", "Ibo Marren"]


def stored(members: Sequence[tuple[str, bytes]], method: int = zipfile.ZIP_STORED) -> bytes:
    """A ZIP file with a fixed clock."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, content in members:
            info = zipfile.ZipInfo(name, CLOCK)
            info.create_system = 3
            archive.writestr(info, content, method)
    return out.getvalue()


def gzipped(content: bytes) -> bytes:
    """A gzip file with one stored block (RFC 1951, 3.2.4; RFC 1952, 2.3)."""
    size = len(content)
    block = b"\x01" + struct.pack("<HH", size, size ^ 0xFFFF) + content
    return b"\x1f\x8b\x08\0\0\0\0\0\0\xff" + block + struct.pack("<II", zlib.crc32(content), size)


def workbook(
    sheets: Sequence[tuple[str, Sequence[Sequence[Any]]]], hide: Sequence[str] = ()
) -> bytes:
    """An XLSX file; a cell may be text, a number, a datetime or (formula, result)."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"default_date_format": "dd/mm/yyyy"}) as book:
        book.set_properties({"created": datetime(*CLOCK)})
        for name, rows in sheets:
            page = book.add_worksheet(name)
            for place, of_row in enumerate(rows):
                for column, cell in enumerate(of_row):
                    if isinstance(cell, tuple):
                        page.write_formula(place, column, cell[0], None, cell[1])
                    elif isinstance(cell, datetime):
                        page.write_datetime(place, column, cell)
                    elif isinstance(cell, str):
                        page.write_string(place, column, cell)
                    elif cell is not None:
                        page.write_number(place, column, cell)
            if name in hide:
                page.hide()
    with zipfile.ZipFile(out) as archive:
        return stored([(info.filename, archive.read(info)) for info in archive.infolist()])


def ods(rows: Sequence[Sequence[tuple[str, str]]], manifest: str = "") -> bytes:
    """An ODS file of one worksheet; a cell is (type, value), its type float, date or string."""
    lines = "".join(
        f"<table:table-row>{''.join(_ods_cell(kind, value) for kind, value in one)}"
        "</table:table-row>"
        for one in rows
    )
    spaces = " ".join(
        f'xmlns:{short}="urn:oasis:names:tc:opendocument:xmlns:{long}:1.0"'
        for short, long in (("office", "office"), ("table", "table"), ("text", "text"))
    )
    spaces += (
        ' xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"'
    )
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content {spaces} '
        'office:version="1.2"><office:body><office:spreadsheet><table:table '
        f'table:name="Week 19">{lines}</table:table></office:spreadsheet></office:body>'
        "</office:document-content>"
    )
    manifest = manifest or (
        '<?xml version="1.0" encoding="UTF-8"?><manifest:manifest xmlns:manifest='
        '"urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" manifest:version="1.2">'
        f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{ODS_TYPE}"/>'
        '<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/>'
        "</manifest:manifest>"
    )
    return stored(
        [
            ("mimetype", ODS_TYPE.encode()),
            ("content.xml", content.encode()),
            ("META-INF/manifest.xml", manifest.encode()),
        ]
    )


def _ods_cell(kind: str, value: str) -> str:
    if not value:
        return "<table:table-cell/>"
    if kind == "error":
        return (
            '<table:table-cell table:formula="of:=1/0" office:value-type="string" '
            f'office:string-value="" calcext:value-type="error"><text:p>{value}</text:p>'
            "</table:table-cell>"
        )
    attribute = {"float": "value", "date": "date-value"}.get(kind)
    said = f' office:{attribute}="{value}"' if attribute else ""
    return (
        f'<table:table-cell office:value-type="{kind}"{said}><text:p>{value}</text:p>'
        "</table:table-cell>"
    )


def _ods_row(no: str, member: str, day: str) -> list[tuple[str, str]]:
    text = ["KES", "K01", "arabica", "parchment", "KES-1", "Ibo Marren"]
    station, book, species, form, scale, who = (("string", word) for word in text)
    numbers = [("float", n) for n in (no, "1", member, "1", "1", "61.2", "1.2", "60", "11")]
    receipt, line, grower, grade, bags, *weights = numbers
    start = [station, ("date", day), book, receipt, line, grower, species, form, grade, bags]
    return [*start, *weights, scale, who]


def made() -> dict[str, bytes]:
    """Return every file that is made here, by its place in the library."""
    return _encodings() | _workbooks() | _packed() | _no_sheets()


def _encodings() -> dict[str, bytes]:
    french = (
        "Station;Date;Carnet;Reçu;Ligne;Membre;Espèce;Forme;Classe;Poids brut;Tare;Poids net;"
        "Balance;Rédacteur\n"
        "KES;04/05/2026;K01;1;1;10019;arabica;parche sèche;1;61,2;1,2;60,0;KES-1;Noé Gérôme\n"
        "KES;05/05/2026;K01;2;1;10024;arabica;cerise fraîche;1;61,2;1,2;60,0;KES-1;Noé Gérôme\n"
    )
    two = sheet(row(1, who="Noé Gérôme"), row(2, "10024", who="Noé Gérôme"))
    return {
        f"0100-utf-16/{NAME}.csv": b"\xff\xfe" + two.encode("utf-16-le"),
        f"0101-utf-16-without-mark/{NAME}.csv": two.encode("utf-16-be"),
        f"0102-windows-1252/{NAME}.csv": french.encode("cp1252"),
        f"0103-a-byte-that-is-no-text/{NAME}.csv": two.encode().replace(b"\xc3\xa9", b"\xe9", 1),
        f"0104-control-characters/{NAME}.csv": sheet(row(1, who="Ibo\0\x07"), row(2)).encode(),
        f"0105-utf-16-cut-short/{NAME}.csv": (b"\xff\xfe" + two.encode("utf-16-le"))[:-1],
    }


def _workbooks() -> dict[str, bytes]:
    day = datetime(2026, 5, 4)
    plain = workbook(
        [
            (
                "Week 19",
                [
                    [],
                    ["Weighings at KES"],
                    [],
                    HEAD,
                    cells(1, 10019, day),
                    [],
                    [*cells(2, "10024", "05/05/2026")[:12], ("=K7-L7", 60), 11, "KES-1", "Ibo"],
                    ["Total", *[None] * 8, 2, 122.4, 2.4, ("=SUM(M5:M7)", 120)],
                ],
            )
        ]
    )
    later = [HEAD, cells(3, 10035, datetime(2026, 5, 11))]
    several = [("Week 19", [HEAD, cells(1, 10019, day)]), ("Week 20", later)]
    notes = ("Notes", [["Rain on Monday"], ["Scale verified in February"]])
    head = [("string", heading) for heading in HEAD]
    opened = ods(
        [head, _ods_row("1", "10019", "2026-05-04"), [], _ods_row("2", "10024", "2026-05-05")]
    )
    right = _ods_row("2", "10024", "2026-05-05")
    wrong = [*_ods_row("1", "10019", "2026-05-04")]
    wrong[12] = ("error", "#DIV/0!")
    locked = (
        '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
        "<manifest:encryption-data/></manifest:manifest>"
    )
    errors = [HEAD, [*cells(1, 10019, day)[:12], ("=1/0", "#DIV/0!"), *cells(1)[13:]]]
    weights = [61.300000000000004, 1.1, 60.199999999999996, 11.5, "KES-1", "Ibo Marren"]
    floats = [HEAD, [*cells(2, 10024, datetime(2026, 5, 11))[:10], *weights]]
    by_day = [
        ("Monday", [HEAD, cells(1, 10019, day)]),
        ("Tuesday", [HEAD, cells(2, 10024, datetime(2026, 5, 5))]),
    ]
    wednesday = ("Wednesday", [HEAD, cells(3, 10035, datetime(2026, 5, 6))])
    mended = [by_day[0], ("Tuesday", [HEAD, cells(2, 10035, datetime(2026, 5, 5))]), wednesday]
    return {
        f"0106-workbook/{NAME}.xlsx": plain,
        "0107-workbook-of-several-worksheets/may.xlsx": workbook([*several, notes]),
        "0108-workbook-with-a-hidden-worksheet/may.xlsx": workbook(several, hide=["Week 20"]),
        f"0109-workbook-with-an-empty-worksheet/{NAME}.xlsx": workbook([*several[:1], ("Two", [])]),
        f"0110-workbook-of-empty-worksheets/{NAME}.xlsx": workbook([("One", []), ("Two", [])]),
        f"0111-workbook-that-is-damaged/{NAME}.xlsx": plain[:3000],
        f"0112-workbook-that-is-locked/{NAME}.xlsx": OLD_OFFICE
        + b"\0" * 504
        + "EncryptedPackage".encode("utf-16-le"),
        "0113-workbook-with-error-and-long-decimals/may.xlsx": workbook(
            [("Errors", errors), ("Floats", floats)]
        ),
        f"0114-open-document/{NAME}.ods": opened,
        f"0131-open-document-with-an-error/{NAME}.ods": ods([head, wrong, right]),
        f"0115-open-document-that-is-locked/{NAME}.ods": ods([head], locked),
        f"0116-workbook-named-csv/{NAME}.csv": workbook(
            [("Week 19", [HEAD, cells(1, 10019, day)])]
        ),
        f"0118-workbook-of-a-worksheet-a-day/{NAME}.xlsx": workbook(by_day),
        f"0119-workbook-of-days-corrected/earlier/{NAME}.xlsx": workbook(by_day),
        f"0119-workbook-of-days-corrected/{NAME}_b.xlsx": workbook(mended),
        f"0117-text-named-xlsx/{NAME}.xlsx": sheet(row(1)).encode(),
    }


def _packed() -> dict[str, bytes]:
    two = sheet(row(1), row(2, "10024")).encode()
    later = sheet(row(3, "10035", "2026-05-11")).encode()
    several = [
        ("may/weighings_KES_2026-W19.csv", two),
        ("may/weighings_KES_2026-W20.csv", later),
        ("may/note.txt", b"Greetings to the office\n"),
        ("may/inner.zip", stored([("x.csv", two)])),
        ("may/scan.png", b"\x89PNG\r\n\x1a\n" + b"\0" * 32),
        ("__MACOSX/may/._x.csv", b"\0\5\x16\7"),
    ]
    bomb = bytes(17 << 20)
    return {
        f"0170-gzip/{NAME}.csv.gz": gzipped(two),
        f"0171-gzip-that-is-damaged/{NAME}.csv.gz": gzipped(two)[:-60],
        "0172-archive-of-several/may.zip": stored(several),
        f"0173-archive-in-a-compressed-file/{NAME}.gz": gzipped(stored([("x.csv", two)])),
        "0174-compressed-file-that-expands-without-end/big.csv.bz2": bz2.compress(bomb),
        "0175-archive-that-expands-without-end/big.zip": stored(
            [("big.csv", bomb)], zipfile.ZIP_BZIP2
        ),
        "0176-archive-that-is-damaged/may.zip": stored(several)[:400],
        "0177-archive-of-nothing/may.zip": stored([("empty/", b"")]),
        "0178-archive-of-another-kind/may.7z": b"7z\xbc\xaf\x27\x1c" + bytes(40),
    }


def _no_sheets() -> dict[str, bytes]:
    return {
        "0180-picture/receipts.jpg": b"\xff\xd8\xff\xe0\0\x10JFIF\0\1" + bytes(64),
        "0181-pdf/weighings.pdf": b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n1 0 obj\n<<>>\nendobj\n",
        "0182-bytes-of-no-kind/weighings.dat": bytes(range(256)) * 4,
        "0183-a-letter/letter.txt": b"Dear office,\n\nthe scale was late.\nIbo\n",
    }


def main() -> None:
    for name, content in made().items():
        path = Path(__file__).parent / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)


if __name__ == "__main__":
    main()
