"""Sheets dropped into the inbox: taken once whole, moved away, answered beside where odd."""

import os
import shutil
import time
from pathlib import Path

import fastexcel
import pytest
import xlsxwriter

from pipeline import inbox
from pipeline.book.book import Book, alone_in
from pipeline.errors import BookError
from pipeline.inbox import ANSWER, TO_CORRECT, InboxWatcher, Looked, lying, take_inbox
from pipeline.season.kept_sheets import kept_sheets
from pipeline.verify import verify
from tests.service.conftest import WEIGHED, until
from tests.take.small import AT, ask, sheet

WEEK = "weighings_KES_2026-W20.csv"
LATER = {"day": "2026-05-12"}


def drop(book: Book, name: str = WEEK, rows: list[dict[str, str]] | None = None) -> Path:
    rows = [one | LATER | {"receipt_book": "K02"} for one in rows or WEIGHED]
    return sheet(book.path / "inbox", name, "weighings", rows)


def names(book: Book) -> list[str]:
    folder = book.path / "inbox"
    return sorted(
        path.relative_to(folder).as_posix()
        for path in folder.rglob("*")
        if path.is_file() and not path.name.startswith(".")
    )


def mend(path: Path, wrong: str, right: str) -> None:
    """Correct one cell of a workbook, as a spreadsheet program would save it."""
    read = fastexcel.read_excel(path).load_sheet(0, header_row=None, dtypes="string").to_polars()
    rows = [[cell or "" for cell in row] for row in read.iter_rows()]
    assert sum(row.count(wrong) for row in rows) == 1
    with xlsxwriter.Workbook(path) as workbook:
        written = workbook.add_worksheet()
        for n, row in enumerate(rows):
            written.write_row(n, 0, [right if cell == wrong else cell for cell in row])


def counted(book: Book) -> int:
    return ask(book, "select count(*) from weighings where state = 'counted'")[0][0]


def test_a_sheet_is_moved_into_the_book_and_odd_rows_come_back_beside_it(book: Book) -> None:
    path = drop(book)
    content = path.read_bytes()
    found = take_inbox(book, still_s=0, at=AT)
    (one,) = found.taken
    assert (one.arrived, one.counted, one.sent_back) == (2, 1, 1)
    assert names(book) == [WEEK + ANSWER, WEEK + TO_CORRECT]
    kept = kept_sheets(book.journal())[-1]
    assert kept.entry["name"] == WEEK and book.sheet(kept.entry["sha256"]) == content
    assert "1 of 2 rows" in (book.path / "inbox" / (WEEK + ANSWER)).read_text("utf-8")
    # Our own answers are no sheets.
    assert lying(book, still_s=0) == []
    assert take_inbox(book, still_s=0).taken == []


def test_the_answer_is_mended_where_it_lies_and_ends_what_was_asked(book: Book) -> None:
    drop(book)
    take_inbox(book, still_s=0, at=AT)
    answer = book.path / "inbox" / (WEEK + TO_CORRECT)
    mend(answer, "6l.2", "61.2")
    before = counted(book)
    (one,) = take_inbox(book, still_s=0, at=AT).taken
    assert one.counted == 1 and counted(book) == before + 1
    assert names(book) == []


def test_a_sheet_without_fault_leaves_nothing_behind(book: Book) -> None:
    folder = book.path / "inbox" / "from the stick"
    folder.mkdir()
    shutil.move(drop(book, rows=WEIGHED[:1]), folder / WEEK)
    assert [one.counted for one in take_inbox(book, still_s=0, at=AT).taken] == [1]
    assert names(book) == [] and not folder.exists()


@pytest.mark.parametrize("beside", ["~$" + WEEK, f".~lock.{WEEK}#"])
def test_what_is_open_in_a_spreadsheet_program_waits(book: Book, beside: str) -> None:
    drop(book)
    open_mark = book.path / "inbox" / beside
    open_mark.write_bytes(b"somebody")
    assert lying(book, still_s=0) == []
    open_mark.unlink()
    assert [path.name for path in lying(book, still_s=0)] == [WEEK]


def test_what_still_grows_or_is_unfinished_waits(book: Book) -> None:
    drop(book)
    drop(book, "half.csv.part")
    assert lying(book, still_s=60) == []
    # A clock that was set back must not keep it there for ever.
    ahead = time.time() + 5000
    os.utime(book.path / "inbox" / WEEK, (ahead, ahead))
    assert [path.name for path in lying(book, still_s=60)] == [WEEK]


def test_a_crash_between_journal_and_moving_takes_nothing_twice(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    drop(book)

    def pulled(*_: object) -> list[Path]:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(inbox, "write_corrections", pulled)
        with pytest.raises(KeyboardInterrupt):
            take_inbox(book, still_s=0, at=AT)
    lines = len(book.journal().lines)
    assert names(book) == [WEEK]
    (again,) = take_inbox(book, still_s=0, at=AT).taken
    assert again.status == "known" and len(book.journal().lines) == lines
    assert names(book) == [WEEK + ANSWER, WEEK + TO_CORRECT]
    assert verify(book, rebuild=False)["ok"]


def test_two_do_not_look_at_once(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    path = drop(book)
    monkeypatch.setattr(inbox, "WAIT_S", 0.1)
    with alone_in(book.path / "inbox", 0, "held"), pytest.raises(BookError, match="inbox"):
        take_inbox(book, still_s=0, at=AT)
    assert path.exists()
    assert len(take_inbox(book, still_s=0, at=AT).taken) == 1


def test_a_file_that_cannot_be_opened_stays_and_is_answered(book: Book) -> None:
    nowhere = book.path / "inbox" / "gone.csv"
    nowhere.symlink_to(book.path / "no such file")
    drop(book, rows=WEIGHED[:1])
    assert [one.counted for one in take_inbox(book, still_s=0, at=AT).taken] == [1]
    assert nowhere.is_symlink()


@pytest.mark.long
def test_the_watcher_takes_what_is_dropped_and_goes_on_after_trouble(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(inbox, "STILL_S", 0.2)
    monkeypatch.setattr(inbox.take_inbox, "__kwdefaults__", {"still_s": 0.1, "at": AT})
    told: list[Looked] = []
    whole = (book.path / "journal.jsonl").read_bytes()
    (book.path / "journal.jsonl").write_bytes(whole.replace(b'"opened"', b'"openee"', 1))
    drop(book)
    with InboxWatcher(book, told=told.append):
        until(lambda: any("journal.jsonl" in one.trouble for one in told))
        assert WEEK in names(book)
        (book.path / "journal.jsonl").write_bytes(whole)
        drop(book, "weighings_KES_2026-W20_b.csv", rows=[WEIGHED[0] | {"line": "7"}])
        until(lambda: WEEK not in names(book) and any(one.sheets for one in told))
    assert told[-1].trouble == ""
    assert verify(book, rebuild=False)["ok"]
