"""The clerk's correction sheets: only the rows sent back, in their sheet's own headings."""

import re
from pathlib import Path

from pipeline.book.book import Book, kept_settings
from pipeline.intake.corrected import own_headings, sheet_label
from pipeline.intake.read import read_cells
from pipeline.queue import season_flags
from pipeline.season.flags import Flag
from pipeline.season.generations import current_path
from pipeline.season.tables import connect, rows
from pipeline.take import seasons_with_sheets
from reports.correction import SentBack, write_correction


def write_corrections(book: Book) -> list[Path]:
    """Write a sheet for every one that has rows sent back into `corrections/`, and return them.

    The folder holds what is open now: sheets that were mended since are taken away.
    """
    folder = book.path / "corrections"
    folder.mkdir(exist_ok=True)
    made: list[Path] = []
    limits = kept_settings(book.journal()).intake.lifted()
    for sheet_no, (name, sha256, part, waiting) in _sent_back(book).items():
        cells = read_cells(book.sheet(sha256), part, limits)
        # A correction sheet that has to be corrected itself loses the columns that it added.
        headings = own_headings(cells)
        kept = [f"c{position}" for position in range(len(headings))]
        lines = [
            SentBack(
                row_no=row["row_no"],
                cells=[*(row[column] for column in kept), *filter(None, [row["beyond"]])],
                wrong=" ".join(_wrong(flag) for flag in waiting[row["row_no"]]),
                todo=" ".join(dict.fromkeys(flag.do for flag in waiting[row["row_no"]])),
            )
            for row in cells.frame.iter_rows(named=True)
            if row["row_no"] in waiting
        ]
        path = folder / f"{sheet_no:04d}_{_file_name(name)}.xlsx"
        write_correction(path, sheet_label(name, sheet_no), headings, lines)
        made.append(path)
    for old in folder.glob("*.xlsx"):
        if old not in made:
            old.unlink()
    return made


def _wrong(flag: Flag) -> str:
    near = f" Near: {', '.join(flag.near)}." if flag.near else ""
    return f"{flag.heading}: {flag.say}{near}" if flag.heading else f"{flag.say}{near}"


def _file_name(name: str) -> str:
    """Return a file name for the correction of a sheet, also of one inside another file."""
    parts = [Path(part).stem for part in name.split(" / ")]
    return re.sub(r'[\\/:*?"<>|]', "_", "_".join(parts))


def _sent_back(book: Book) -> dict[int, tuple[str, str, str, dict[int, list[Flag]]]]:
    """Return, by sheet, its name, hash, part and the rows sent back with their flags."""
    by_place: dict[tuple[int, int], list[Flag]] = {}
    whole: dict[int, Flag] = {}
    for _, flag in season_flags(book):
        if flag.severity == "send_back" and not flag.decision:
            by_place.setdefault((flag.sheet_no, flag.row), []).append(flag)
            if flag.rule == "missing-column":
                whole[flag.sheet_no] = flag
    found: dict[int, tuple[str, str, str, dict[int, list[Flag]]]] = {}
    journal = book.journal()
    for season in seasons_with_sheets(journal, kept_settings(journal)):
        path = current_path(book, season)
        if path is None:
            continue
        with connect(str(path)) as con:
            places = rows(
                con,
                "select s.sheet_no, s.name, s.sha256, s.part, e.row_no from exceptions e "
                "inner join sheets s on s.sheet_no = e.sheet_no where e.state = 'sent_back' "
                "order by s.sheet_no, e.row_no",
            )
        for sheet_no, name, sha256, part, row_no in places:
            reasons = by_place.get((sheet_no, row_no), [])
            if sheet_no in whole:
                reasons = [whole[sheet_no], *reasons]
            found.setdefault(sheet_no, (name, sha256, part, {}))[3].setdefault(row_no, reasons)
    return found
