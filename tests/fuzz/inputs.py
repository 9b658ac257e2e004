"""Makes the inputs: sheets written as clerks might, and the library's sheets with bytes changed.

Each is made from a seed and its number alone, so that any one of them can be made again.
"""

import gzip
import io
import zipfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random

from pipeline.intake.kinds import LANGUAGES, Column, kinds

CASES = Path(__file__).parents[1] / "cases"
BESIDE = ("settings.toml", "args.toml", "expected.txt", ".gitattributes")
# Larger sheets of the library are left to its own test.
LARGEST = 40_000

# Digits of other scripts are told by their numbers: they look like others.
NUMBERS = (
    *"60.0 60,0 1,250 1.250 1.234,50 1,234.50 12.5.3 -60 +60 (60) 6O.0 6l 1e9 =60 60kg".split(),
    *"2½ ~60 60.0004 999999999999999999 0 00060 .5 5. , . - n/a nil sixty douze ishirini".split(),
    *"$12.50 €5 12'345,00 60.0/61.0 #DIV/0! NaN inf -inf 0x10 1_000 60_lb 2_tins 1/2".split(),
    *"12_FCFA 12_% 60_ha 3_acres 1_234,5 \u0666\u0660 \uff16\uff10 \u0967\u0968".split(),
)
DATES = (
    "2026-05-04 04/05/2026 5/4/2026 31/02/2026 13/05/26 46146 46146.5 4.5.2026 04-05-26 20260504 "
    "4_May_2026 4_mai_2026 4_de_mayo_de_2026 4_Mei_2026 1er_août Tuesday_4_May_2026 2026-13-01 "
    "today "
    "99999 00/00/0000 2026-05-04_08:30 May_2026 4/5 0001-01-01 9999-12-31 2026-02-29 60 2O26-05-04"
).split()
WORDS = (
    'Ibo_Marren x Asha é ñ 茶 - n/a =cmd|\'/C_calc\'!A0 +1 @x "quoted" "open a,b a;b a|b a\tb '
    "{0} {1} {x} % \\ ' '' <b> \u200b \u00a0 \ufeff \u202ex \U0001f331 total Total jumla NULL true"
).split(" ")
TIMES = ("07:30", "9:15", "25:00", "7.30 pm", "8h30", "", "00:00:00", "-", "24:00")
SHAPES = (
    "POINT (36.1 1.2)",
    "POLYGON ((36 1, 37 1, 37 2, 36 1))",
    "36.1 1.2",
    '{"coordinates": []}',
)
NAMES = (
    "weighings_KES_2026-W19.csv",
    "x.csv",
    "may.xlsx",
    "ARD 2026-W20.txt",
    "2026-W54.csv",
    "deliveries.csv.gz",
    "é\u202e.csv",
)
PIECES = (
    *(
        piece.encode()
        for piece in (",", ";", "\t", "|", '"', '""', "\n", "\r\n", "\r", "\n\n", "=")
    ),
    *(
        piece.encode()
        for piece in ("sep=;\n", "Total", "2026-W19", "Net kg", "\ufeff", "\u2028", "½")
    ),
    *(b"\x00", b"\xff\xfe", b"\xfe\xff", b"\xe9", b"\x80", b"\xed\xa0\x80", b"\x1a", b"PK\x03\x04"),
    *(b"\x1f\x8b", b"A" * 1200, b"," * 70, b'"\n' * 5, b"1" * 40, b"<", b"&", b"\x0b\x0c\x85"),
)


@dataclass(frozen=True, slots=True)
class Input:
    """One input: its name and bytes; `rows`: the numbers of its rows where they are known."""

    name: str
    content: bytes
    rows: tuple[int, ...] | None = None


def made(seed: int, number: int) -> Input:
    """Return one input."""
    rng = Random(f"{seed}:{number}")
    roll = rng.random()
    if roll < 0.45:
        return written(rng)
    name = rng.choice(NAMES)
    if roll < 0.55:
        return Input(name, changed(rng, written(rng).content))
    texts, packed = library()
    if roll < 0.9:
        return Input(name, changed(rng, rng.choice(texts), rng.choice(texts)))
    content = rng.choice(packed)
    if content.startswith(b"PK\x03\x04") and rng.random() < 0.7:
        return Input(name, repacked(rng, content))
    return Input(name, changed(rng, content))


@cache
def library() -> tuple[tuple[bytes, ...], tuple[bytes, ...]]:
    """Return the sheets of the library: those that are text, and workbooks, archives and such."""
    found = [
        path.read_bytes()
        for path in sorted(CASES.glob("[0-9]*/**/*"))
        if path.is_file() and path.name not in BESIDE and path.stat().st_size <= LARGEST
    ]
    packed = tuple(c for c in found if c[:2] in (b"PK", b"\x1f\x8b", b"BZ", b"\xd0\xcf", b"%P"))
    return tuple(content for content in found if content not in packed), packed


def written(rng: Random) -> Input:
    """Write a sheet of some kind, with what may go wrong in one."""
    kind = rng.choice(list(kinds().values()))
    columns = list(kind.columns) if rng.random() < 0.5 else [c for c in kind.columns if c.required]
    if rng.random() < 0.02:
        columns = [c for c in kind.columns if rng.random() < 0.7]
        rng.shuffle(columns)
    mark = rng.choice(",,,;;\t|")
    tidy = rng.random() < 0.5
    bad_rows = 0.9 if rng.random() < 0.1 else 0.2
    lines = ["Growers" + mark * rng.randrange(3), ""][: rng.randrange(3)] if not tidy else []
    head = mark.join(_cell(rng, _heading(rng, c), mark) for c in columns)
    lines.append(head)
    start = len(lines)
    rows: list[int] = []
    for _ in range(rng.randrange(1, 12)):
        bad = rng.random() < bad_rows
        values = (_value(rng, c, tidy) if bad else c.example for c in columns)
        row = mark.join(_cell(rng, value, mark) for value in values)
        if row.strip(mark + " \u00a0\u200b\ufeff"):
            rows.append(len(lines) + 1)
        lines.append(row)
        if not tidy:
            lines += _between(rng, head, row, mark)
    end = rng.choice(["\n", "\n", "\r\n", "\r"])
    text = end.join(lines) + end * rng.randrange(2)
    plain = tidy and '"' not in text and len(columns) > 3
    content = text.encode(rng.choice(["utf-8", "utf-8", "utf-8-sig", "utf-16"]))
    if rng.random() < 0.02:
        content = gzip.compress(content, mtime=0)
    known = tuple(rows) if plain and start == 1 else None
    return Input(f"{kind.name}_2026-W19.csv" if tidy else rng.choice(NAMES), content, known)


def _between(rng: Random, head: str, row: str, mark: str) -> list[str]:
    """Return what may stand between two rows."""
    roll = rng.random()
    if roll < 0.05:
        return ["", mark * 3, "  "][: rng.randrange(4)]
    if roll < 0.08:
        return [head]
    if roll < 0.12:
        return [row + mark + "more" + mark * rng.randrange(4)]
    if roll < 0.16:
        return [row[: rng.randrange(len(row) + 1)]]
    if roll < 0.2:
        return [rng.choice(["Total", "total", "Jumla", ""]) + mark * 4 + rng.choice(NUMBERS)]
    return [mark + row] if roll < 0.24 else []


def _heading(rng: Random, column: Column) -> str:
    heading = rng.choice(list(column.headings))
    if rng.random() < 0.1:
        heading += rng.choice([" (kg)", " (lb)", " lb/kg", " (tins)", " ", " USD", ":", " (acres)"])
    return heading.upper() if rng.random() < 0.1 else heading


def _value(rng: Random, column: Column, tidy: bool) -> str:
    if rng.random() < 0.7:
        return column.example
    if rng.random() < 0.1:
        return ""
    if column.type == "date":
        return rng.choice(DATES).replace("_", " ")
    if column.type == "choice":
        words = column.words(rng.choice(LANGUAGES))
        return rng.choice([*words.values(), "wet", "arabicca", "-"])
    if column.type in ("text", "code", "phone", "account"):
        return rng.choice(WORDS).replace("_", " ") if not tidy else column.example
    if column.type == "time":
        return rng.choice(TIMES)
    return (
        rng.choice(SHAPES) if column.type == "geometry" else rng.choice(NUMBERS).replace("_", " ")
    )


def _cell(rng: Random, text: str, mark: str) -> str:
    if mark in text or "\n" in text or rng.random() < 0.01:
        return text if rng.random() < 0.05 else '"' + text.replace('"', '""') + '"'
    return text


def changed(rng: Random, content: bytes, other: bytes = b"") -> bytes:
    """Return bytes with a few changes: cut, doubled, overwritten, joined with another's."""
    found = bytearray(content)
    for _ in range(rng.choice([1, 1, 2, 3, 5, 9])):
        at = rng.randrange(len(found) + 1)
        until = min(len(found), at + rng.choice([1, 1, 2, 5, 20, 200]))
        roll = rng.random()
        if roll < 0.2:
            del found[at:until]
        elif roll < 0.35:
            found[at:at] = found[at:until]
        elif roll < 0.7:
            found[at:at] = rng.choice(PIECES)
        elif roll < 0.85 and at < len(found):
            found[at] = rng.randrange(256)
        elif roll < 0.9:
            found[at:] = other[rng.randrange(len(other) + 1) :]
        elif roll < 0.95:
            lines = bytes(found).split(b"\n")
            rng.shuffle(lines)
            found = bytearray(b"\n".join(lines))
        else:
            del found[at:]
    return bytes(found[: LARGEST * 2])


def repacked(rng: Random, content: bytes) -> bytes:
    """Return an archive or workbook with one of its members changed inside."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            members = [(info.filename, archive.read(info)) for info in archive.infolist()]
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError, EOFError):
        return changed(rng, content)
    if not members or sum(len(inner) for _, inner in members) > LARGEST * 4:
        return changed(rng, content)
    place = rng.randrange(len(members))
    members[place] = (members[place][0], changed(rng, members[place][1]))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, inner in members:
            archive.writestr(zipfile.ZipInfo(name), inner)
    return out.getvalue()
