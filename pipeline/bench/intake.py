"""How fast and how large intake is, beside DuckDB's own reading of the very same rows.

Both sides read the same files from disk, store typed rows in a DuckDB file and write it out, with
as many threads as there are cores. They run in turns, so that a busy machine slows both.
"""

import hashlib
import os
import tempfile
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import asdict, dataclass
from pathlib import Path
from statistics import median

import duckdb

from pipeline.bench.floor import typed_read_csv
from pipeline.bench.peak import peak_mib
from pipeline.bench.sheets import STATIONS, WEEKS, write_many, write_narrow, write_one
from pipeline.bench.sheets import write_workbook as write_xlsx
from pipeline.bench.spent import Spent, in_new_process, middle, spent
from pipeline.book.book import Book, new_book, now
from pipeline.intake.kept import Reader
from pipeline.intake.limits import DEFAULT
from pipeline.intake.read import open_parts, part_cells
from pipeline.samples.people import stations
from pipeline.samples.sheets import book_toml, headings
from pipeline.season.insert import Incoming
from pipeline.season.kept_sheets import KeptSheet
from pipeline.season.schema import create_tables
from pipeline.season.tables import connect
from pipeline.settings import read_settings

KIND = "weighings"
FILES = 2000
# Fewer rows than this in a file tell of files only.
ROWS_A_FILE = 75
CAREFUL_COLUMNS = 12
CAREFUL_ROWS = 500_000
WORKBOOK_ROWS = 50_000
# More rows than this are measured once, fewer several times in turns.
ONCE_ROWS = 2_000_000
TURNS = 5
# Rows stored, rows with a cell not read, and sums over all rows.
Stored = tuple[int, int, tuple[object, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """The floor and ours on the same files: the median of each, and of their ratios turn by turn.

    `floor_rows`, `rows`: what each stored; `same_sums`: both hold the same kilograms and days;
    `sent_back`: rows of ours with a cell not read.
    """

    floor: Spent
    ours: Spent
    ratio: float
    cpu_ratio: float
    floor_rows: int
    rows: int
    sent_back: int
    same_sums: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Intake:
    """All that `weighbook bench intake` measures."""

    rows: int
    cores: int
    one_file: Pair
    many_files: Pair
    files: int
    careful: Spent
    careful_rows: int
    xlsx: Spent
    xlsx_rows: int
    peak_mib: float

    def figures(self) -> dict[str, object]:
        """Return the figures by name, as `--json` prints them: ratios, rows/s, seconds, MiB."""
        return {
            "typed_over_floor": round(self.one_file.ratio, 3),
            "typed_over_floor_many_files": round(self.many_files.ratio, 3),
            "careful_rows_per_s": round(self.careful_rows / self.careful.wall_s),
            "xlsx_s": round(self.xlsx.wall_s, 3),
            "peak_mib": round(self.peak_mib),
            **asdict(self),
        }


def measure_intake(
    rows: int,
    *,
    files: int = FILES,
    seed: int = 7,
    told: Callable[[str], None] | None = None,
) -> Intake:
    """Measure intake on clean weighings, in one file and in at most so many `files`.

    `told` is called before each part with what it is.
    """

    def say(part: str) -> None:
        if told:
            told(part)

    with tempfile.TemporaryDirectory(prefix="weighbook-bench-") as name:
        folder = Path(name)
        say(f"making {rows:,} rows")
        settings_text = book_toml(stations(STATIONS), WEEKS)
        book = new_book(folder / "book", settings_text, now())
        write_one(folder / "one.csv", rows, seed)
        one = _kept(book, [folder / "one.csv"])
        say("memory")
        peak = in_new_process(_peak_of, book, one, folder / "peak.duckdb")
        (folder / "peak.duckdb").unlink()
        say("one file")
        turns = 1 if rows > ONCE_ROWS else TURNS
        one_file = _pair(book, one, folder, turns)
        book.sheet_path(one[0].entry["sha256"]).unlink()
        many = _kept(book, write_many(folder / "many", rows, min(files, rows // ROWS_A_FILE), seed))
        say(f"{len(many):,} files")
        many_files = _pair(book, many, folder, turns)
        say("the careful reader, a workbook")
        careful, careful_rows = _careful(folder / "quoted.csv", min(rows, CAREFUL_ROWS), seed)
        xlsx, xlsx_rows = _workbook(book, folder, min(rows, WORKBOOK_ROWS), seed)
    return Intake(
        rows=rows,
        cores=os.cpu_count() or 1,
        one_file=one_file,
        many_files=many_files,
        files=len(many),
        careful=careful,
        careful_rows=careful_rows,
        xlsx=xlsx,
        xlsx_rows=xlsx_rows,
        peak_mib=peak,
    )


def _kept(book: Book, paths: Sequence[Path]) -> list[KeptSheet]:
    """Move files into the book; return them as the journal would have them."""
    found: list[KeptSheet] = []
    for number, path in enumerate(paths, start=1):
        with path.open("rb") as file:
            sha256 = hashlib.file_digest(file, "sha256").hexdigest()
        entry = {
            **dict.fromkeys(("station", "week", "recorder"), ""),
            "sha256": sha256,
            "name": path.name,
            "kind": KIND,
            "season": "2026",
            "slot": path.name,
            "arrived": 0,
            "problem": None,
        }
        path.replace(book.sheet_path(sha256))
        found.append(KeptSheet(number, 1, "2026-10-01", entry))
    return found


def _pair(book: Book, sheets: Sequence[KeptSheet], folder: Path, turns: int) -> Pair:
    floors: list[Spent] = []
    ours: list[Spent] = []
    own: Stored = (0, 0, ())
    plain: Stored = (0, 0, ())
    for turn in range(turns):
        # First one, then the other: neither always finds the disk warm.
        for side in ("floor", "ours") if turn % 2 else ("ours", "floor"):
            path = folder / f"{side}.duckdb"
            if side == "floor":
                took, plain = _floor(book, sheets, path)
                floors.append(took)
            else:
                took, own = _ours(book, sheets, path)
                ours.append(took)
            path.unlink()
    pairs = list(zip(ours, floors, strict=True))
    return Pair(
        floor=middle(floors),
        ours=middle(ours),
        ratio=median(one.wall_s / floor.wall_s for one, floor in pairs),
        cpu_ratio=median(one.cpu_s / floor.cpu_s for one, floor in pairs),
        floor_rows=plain[0],
        rows=own[0],
        sent_back=own[1],
        same_sums=own[2] == plain[2],
    )


def _floor(book: Book, sheets: Sequence[KeptSheet], path: Path) -> tuple[Spent, Stored]:
    """Read the files as a user would who knows every column's type, into a table."""
    files = [book.sheet_path(sheet.entry["sha256"]) for sheet in sheets]
    with duckdb.connect(str(path)) as con:
        con.execute("set enable_progress_bar = false")

        def read() -> None:
            typed_read_csv(con, "floor", KIND, files)
            con.execute("checkpoint")

        took = spent(read)
        net, day = headings(KIND)["net_kg"], headings(KIND)["day"]
        sums = con.execute(
            f'select sum("{net}"), min("{day}"), max("{day}"), count(*) from floor'
        ).fetchall()[0]
    return took, (sums[-1], 0, sums)


def _ours(book: Book, sheets: Sequence[KeptSheet], path: Path) -> tuple[Spent, Stored]:
    """Read, type and store the files as `weighbook rebuild` does."""
    settings = read_settings(book.settings_path.read_text("utf-8"))
    with connect(str(path), read_only=False) as con:
        create_tables(con)

        def read() -> None:
            con.execute("begin transaction")
            with closing(Incoming(con, book, settings)) as incoming:
                incoming.add(sheets, Reader(settings.intake))
                incoming.finish()
            con.execute("commit")
            con.execute("checkpoint")

        took = spent(read)
        sums = con.execute(
            f"select sum(net_kg), min(day), max(day), count(*) from rows_{KIND}"
        ).fetchall()[0]
        sent_back = con.execute(
            "select count(*) from (select distinct sheet_no, row_no from unreadable)"
        ).fetchall()[0][0]
    return took, (sums[-1], sent_back, sums)


def _peak_of(book: Book, sheets: Sequence[KeptSheet], path: Path) -> float:
    _ours(book, sheets, path)
    return peak_mib()


def _careful(path: Path, rows: int, seed: int) -> tuple[Spent, int]:
    """Read quoted cells with the careful reader, from bytes to tidy rows of text."""
    write_narrow(path, rows, CAREFUL_COLUMNS, seed)
    content = path.read_bytes()
    counts: list[int] = []

    def read() -> None:
        part = open_parts(content, DEFAULT)[0]
        counts.append(part_cells(part, careful_only=True).frame.height)

    return spent(read), counts[0]


def _workbook(book: Book, folder: Path, rows: int, seed: int) -> tuple[Spent, int]:
    """Read, type and store a workbook."""
    write_xlsx(folder / "sheet.xlsx", rows, seed)
    took, (stored, *_) = _ours(book, _kept(book, [folder / "sheet.xlsx"]), folder / "xlsx.duckdb")
    return took, stored
