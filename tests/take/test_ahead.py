"""Sheets that are brought in while the next are read give the same book as sheets taken in turn."""

import logging
import threading
from collections import Counter
from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path

import duckdb
import fastexcel
import pytest

import pipeline.ahead
import pipeline.keep
from pipeline.book.book import Book, new_book, working_out
from pipeline.corrections import write_corrections
from pipeline.intake.kept import Reader
from pipeline.intake.speaks import Answer
from pipeline.samples.sheets import by_week
from pipeline.season.generations import must_have
from pipeline.season.next_file import NextFile
from pipeline.season.tables import connect, rows
from pipeline.take import take, take_by_day
from pipeline.verify import verify
from tests.take.small import ASHA, AT, BEMI, BY, CORO, DAY, SETTINGS, registers, sheet

SAMPLES = Path(__file__).parents[2] / "sample_inputs"
Days = Sequence[tuple[date, Sequence[Path]]]
# Where a step is noted with what it read, and by which line of the journal.
ABOUT_THE_FILE = {"file_facts", "worked"}


@pytest.fixture(autouse=True)
def every_row_is_worth_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Small sheets are brought in ahead, too."""
    monkeypatch.setattr(pipeline.ahead, "WORTH_IT", 1)


@pytest.fixture
def ahead(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The number of the last line after each time that lines were brought in ahead."""
    brought: list[int] = []
    whole = NextFile.apply

    def apply(self: NextFile, *args: object, more: bool = False) -> None:
        whole(self, *args, more=more)  # pyright: ignore[reportArgumentType]
        if more:
            brought.append(self.done)

    monkeypatch.setattr(NextFile, "apply", apply)
    return brought


def tables(book: Book, season: str) -> dict[str, Counter[str]]:
    """Every table of a season file, as rows and how often each is there."""
    with connect(str(must_have(book, season))) as con:
        names = [name for (name,) in rows(con, "select table_name from duckdb_tables()")]
        return {
            name: Counter(map(repr, rows(con, f"from {name}")))
            for name in names
            if name not in ABOUT_THE_FILE
        }


def small_book(folder: Path) -> Book:
    """A book of two stations, without a sheet."""
    return new_book(folder, SETTINGS, AT)


def week(folder: Path, n: int, kilograms: str = "60.0") -> Path:
    """Weighings of three members on one day, the n-th week's."""
    day = date(2026, 5, 4) + timedelta(days=7 * n)
    lines = [
        {"member_no": no, "receipt_no": str(10 * n + at), "day": day.isoformat()}
        | {"net_kg": kilograms if no == BEMI else "60.0"}
        for at, no in enumerate((ASHA, BEMI, CORO), start=1)
    ]
    return sheet(folder, f"weighings KES {day.isoformat()}.csv", "weighings", lines)


def in_turn(book: Book, days: Days, answer: Answer | None = None) -> None:
    """Take each day's sheets by themselves."""
    for day, paths in days:
        take(book, paths, by=BY, day=day, answer=answer, at=AT)


def test_a_season_brought_in_ahead_is_the_season_worked_out_anew(
    tmp_path: Path, ahead: list[int]
) -> None:
    """The sample season: `verify` finds the same rows in every table."""
    book = new_book(tmp_path / "book", (SAMPLES / "book.toml").read_text("utf-8"), AT)
    days = by_week(SAMPLES / "season")
    take_by_day(book, days, by=BY, at=AT)
    assert len(ahead) == len(days) - 1
    assert verify(book)["ok"]


def test_corrections_and_answers_among_the_days_fill_what_they_name(
    tmp_path: Path, ahead: list[int]
) -> None:
    """A correction sheet asks what waits now, an answer takes a sheet's place: both in mid-way."""
    found: list[dict[str, Counter[str]]] = []
    for name in ("ahead", "in turn"):
        folder = tmp_path / name
        folder.mkdir()
        book = small_book(folder / "book")
        nameless = sheet(folder, "sheet.csv", "weighings", [{"receipt_no": "90"}], ["station"])
        take(book, [*registers(folder), week(folder, 0, "sixty"), nameless], by=BY, day=DAY, at=AT)
        # What is sent back is corrected, and the sheet that could not be read is sent again.
        (path,) = [path for path in write_corrections(book) if "weighings" in path.name]
        frame = fastexcel.read_excel(path).load_sheet(0, dtypes="string").to_polars()
        mended = folder / "mended.csv"
        mended.write_text(frame.write_csv().replace("sixty", "60.0"), "utf-8")
        days = [
            (DAY, [week(folder, 1)]),
            (DAY, [mended]),
            (DAY, [week(folder, 2)]),
            (DAY, [nameless]),
            (DAY, [week(folder, 3)]),
        ]
        ahead.clear()
        if name == "ahead":
            take_by_day(book, days, by=BY, answer=Answer(station="KES"), at=AT)
            assert ahead
        else:
            in_turn(book, days, Answer(station="KES"))
        found.append(tables(book, "2026"))
        assert verify(book)["ok"]
    assert found[0] == found[1]
    assert len(found[0]["filled_weighings"]) == 14


def test_a_day_of_very_many_rows_is_taken_in_parts(
    tmp_path: Path, ahead: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each part has its line and is brought in before the next; a file sent twice is one sheet."""
    found: list[dict[str, Counter[str]]] = []
    for name in ("whole", "in parts"):
        if name == "in parts":
            # So that any file is a part.
            monkeypatch.setattr(pipeline.keep, "PART_BYTES", 1)
        folder = tmp_path / name
        folder.mkdir()
        book = small_book(folder / "book")
        sheets = [*registers(folder), *(week(folder, n) for n in range(4))]
        taken = take_by_day(book, [(DAY, [*sheets, sheets[-1]])], by=BY, at=AT)
        assert [one.status for one in taken] == ["taken"] * len(sheets) + ["known"]
        lines = [line for line in book.journal().lines if line.what == "taken"]
        assert len(lines) == (1 if name == "whole" else len(sheets))
        found.append(tables(book, "2026"))
        assert verify(book)["ok"]
    assert ahead
    assert found[0] == found[1]
    assert sum(found[0]["filled_weighings"].values()) == 12


def test_season_files_held_by_another_are_left_alone_until_all_is_read(
    tmp_path: Path, ahead: list[int]
) -> None:
    """Sheets become safe without a wait; the season is worked out once the other lets go."""
    book = small_book(tmp_path / "book")
    first, *others = [[week(tmp_path, n)] for n in range(4)]
    take(book, [*registers(tmp_path), *first], by=BY, day=DAY, at=AT)
    safe, held = threading.Event(), threading.Event()

    def another() -> None:
        with working_out(book):
            held.set()
            assert safe.wait(60)

    beside = threading.Thread(target=another)
    beside.start()
    assert held.wait(60)
    lines: list[int] = []

    def noted(_: object) -> None:
        lines.append(len(book.journal().lines))
        if len(lines) == len(others):
            safe.set()

    take_by_day(book, [(DAY, paths) for paths in others], by=BY, noted=noted, at=AT)
    beside.join()
    assert ahead == []
    assert sum(tables(book, "2026")["filled_weighings"].values()) == 12


def test_what_fails_ahead_is_worked_out_from_sheets_and_journal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """A fault while bringing in, others waiting, loses nothing and stops nobody; it is logged."""
    whole, failed = NextFile.apply, list[int]()

    def apply(self: NextFile, journal: object, reader: Reader, *, more: bool = False) -> None:
        whole(self, journal, reader, more=more)  # pyright: ignore[reportArgumentType]
        if more:
            failed.append(self.done)
            raise duckdb.IOException("No room")

    monkeypatch.setattr(NextFile, "apply", apply)
    book = small_book(tmp_path / "book")
    days = [(DAY, registers(tmp_path)), *((DAY, [week(tmp_path, n)]) for n in range(3))]
    with caplog.at_level(logging.INFO, logger="pipeline.ahead"):
        take_by_day(book, days, by=BY, at=AT)
    assert failed
    assert "No room" in caplog.text
    assert sum(tables(book, "2026")["filled_weighings"].values()) == 9
    assert verify(book)["ok"]
