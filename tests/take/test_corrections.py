"""Correction sheets that come back: each row fills the row it names, and no other."""

import csv
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import fastexcel
import pytest
import xlsxwriter

from pipeline.book.book import Book
from pipeline.corrections import write_corrections
from pipeline.queue import season_flags
from pipeline.upkeep import rebuild
from pipeline.verify import verify
from tests.take.small import ASHA, ask, sheet, taken

STATES = "select sheet_no, row_no, state from weighings order by sheet_no, row_no"


def spoilt(book: Book, folder: Path) -> None:
    """Take one sheet with a good row, an unreadable weight and an impossible moisture."""
    rows = [
        {"receipt_no": "1"},
        {"receipt_no": "2", "gross_kg": "6l.2"},
        {"receipt_no": "3", "moisture_pct": "41"},
    ]
    taken(book, sheet(folder, "weighings_KES_2026-W19.csv", "weighings", rows))


def read(path: Path) -> tuple[list[str], list[list[Any]]]:
    frame = fastexcel.read_excel(path).load_sheet(0, dtypes="string").to_polars()
    return frame.columns, [list(row) for row in frame.rows()]


def send_back(folder: Path, name: str, headings: list[str], rows: list[list[Any]]) -> Path:
    path = folder / name
    if path.suffix == ".xlsx":
        with xlsxwriter.Workbook(path) as book:
            page = book.add_worksheet()
            for at, row in enumerate([headings, *rows]):
                page.write_row(at, 0, [cell or "" for cell in row])
        return path
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([headings, *rows])
    return path


def mended(headings: list[str], rows: list[list[Any]]) -> list[list[Any]]:
    for row in rows:
        cells = dict(zip(headings, row, strict=True))
        if cells["Gross kg"] == "6l.2":
            row[headings.index("Gross kg")] = "61.2"
        if cells["Moisture %"] == "41":
            row[headings.index("Moisture %")] = "11.4"
    return rows


def test_a_correction_sheet_fills_exactly_the_rows_it_names(book: Book, tmp_path: Path) -> None:
    spoilt(book, tmp_path)
    first = int(ask(book, "select max(sheet_no) from sheets")[0][0])
    (path,) = write_corrections(book)
    headings, rows = read(path)
    assert [row[headings.index("Row")] for row in rows] == ["3", "4"]
    for name in ("back.xlsx", "again.csv"):
        result = taken(book, send_back(tmp_path, name, headings, mended(headings, rows)))[0]
        if name == "back.xlsx":
            assert (result.kind, result.arrived, result.counted) == ("weighings", 2, 2)
    assert ask(book, STATES)[:3] == [
        (first, 2, "counted"),
        (first, 3, "replaced"),
        (first, 4, "replaced"),
    ]
    assert ask(book, "select deliveries from member_season where member_no = ?", ASHA) == [(3,)]
    # What was mended needs no correction: the same rows in another file go back.
    says = {f.say for _, f in season_flags(book) if f.rule == "corrects-nothing"}
    assert says == {"This row of a correction sheet names no row that waits to be corrected."}
    before = ask(book, STATES)
    rebuild(book)
    assert ask(book, STATES) == before
    assert verify(book)["ok"]


def test_a_row_that_names_nothing_goes_back_and_fills_nothing(book: Book, tmp_path: Path) -> None:
    spoilt(book, tmp_path)
    (path,) = write_corrections(book)
    headings, rows = read(path)
    rows = mended(headings, rows)
    named, line = headings.index("Sheet"), headings.index("Row")
    elsewhere = [cell for cell in rows[0]]
    elsewhere[named], elsewhere[line] = "weighings_KES_2026-W19.csv #9999", "3"
    counted_row = [cell for cell in rows[0]]
    counted_row[line] = "2"
    twice = [cell for cell in rows[0]]
    result = taken(
        book, send_back(tmp_path, "b.csv", headings, [rows[0], elsewhere, counted_row, twice])
    )[0]
    assert (result.counted, result.sent_back) == (1, 3)
    wrong = [f.row for _, f in season_flags(book) if f.rule == "corrects-nothing"]
    assert sorted(wrong) == [3, 4, 5]
    assert ask(book, "select deliveries from member_season where member_no = ?", ASHA) == [(2,)]
    assert verify(book)["ok"]


@pytest.mark.long
def test_a_correction_that_is_still_wrong_is_corrected_in_turn(book: Book, tmp_path: Path) -> None:
    spoilt(book, tmp_path)
    (path,) = write_corrections(book)
    taken(book, send_back(tmp_path, "b.csv", *read(path)))
    (path,) = write_corrections(book)
    headings, rows = read(path)
    # The four columns of the first correction are not carried along.
    assert headings.count("Sheet") == 1 and len(rows) == 2
    result = taken(book, send_back(tmp_path, "c.csv", headings, mended(headings, rows)))[0]
    assert result.counted == 2
    assert write_corrections(book) == []
    assert verify(book)["ok"]


@pytest.mark.long
def test_a_later_whole_sheet_takes_the_place_of_its_corrections(book: Book, tmp_path: Path) -> None:
    spoilt(book, tmp_path)
    (path,) = write_corrections(book)
    headings, rows = read(path)
    taken(book, send_back(tmp_path, "b.csv", headings, mended(headings, rows)))
    whole = [{"receipt_no": n, "bags": "2"} for n in ("1", "2", "3")]
    result = taken(book, sheet(tmp_path, "weighings_KES_2026-W19.csv", "weighings", whole))[0]
    assert (result.version, result.counted) == (3, 3)
    assert ask(book, "select deliveries from member_season where member_no = ?", ASHA) == [(3,)]
    assert verify(book)["ok"]


def test_a_correction_of_sheets_that_nobody_knows_goes_back_whole(
    book: Book, tmp_path: Path
) -> None:
    spoilt(book, tmp_path)
    (path,) = write_corrections(book)
    headings, rows = read(path)
    for row in mended(headings, rows):
        row[headings.index("Sheet")] = "gone.csv #9999"
    before = ask(book, STATES)
    result = taken(book, send_back(tmp_path, "b.csv", headings, rows))[0]
    assert (result.kind, result.counted, result.sent_back) == ("weighings", 0, 2)
    assert ask(book, STATES)[: len(before)] == before
    assert verify(book)["ok"]


def test_desk_and_command_write_the_folder_one_after_the_other(book: Book, tmp_path: Path) -> None:
    spoilt(book, tmp_path)
    for week in range(20, 30):
        rows = [{"receipt_no": str(week), "gross_kg": "7l.2"}]
        taken(book, sheet(tmp_path, f"weighings_KES_2026-W{week}.csv", "weighings", rows))
    (book.path / "corrections").mkdir()
    (book.path / "corrections" / "left_by_a_killed_writer.part").touch()
    with ThreadPoolExecutor(4) as pool:
        made = list(pool.map(lambda _: write_corrections(book), range(8)))
    assert [len(paths) for paths in made] == [11] * 8
    assert sorted(path.name for path in (book.path / "corrections").glob("*.xlsx")) == sorted(
        path.name for path in made[0]
    )
    assert not list((book.path / "corrections").glob("*.part"))
