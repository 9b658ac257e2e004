"""What is kept stays kept: one writer at a time, a torn journal, every change that is noticed."""

import shutil
import signal
import subprocess
import sys
import threading
from pathlib import Path

import duckdb
import pytest

from pipeline.book.book import Book, open_book, writing
from pipeline.book.journal import read_journal
from pipeline.errors import BookError, DamageError
from pipeline.season.generations import must_have
from pipeline.upkeep import rebuild
from pipeline.verify import COMPARED, verify
from tests.take.small import ASHA, ask, sheet, tables, taken

EVERYTHING = (*COMPARED, "rows_weighings", "rows_payments", "rows_members")


@pytest.fixture(scope="module")
def worked(registered: Book, tmp_path_factory: pytest.TempPathFactory) -> Book:
    """A book with registers, weighings and payments; tests spoil copies of it."""
    folder = tmp_path_factory.mktemp("worked")
    book = Book(shutil.copytree(registered.path, folder / "book"))
    taken(book, sheet(folder, "w.csv", "weighings", [{"receipt_no": "1"}, {"receipt_no": "2"}]))
    taken(book, sheet(folder, "p.csv", "payments", [{}]))
    return book


@pytest.fixture
def spoilt(worked: Book, tmp_path: Path) -> Book:
    return Book(shutil.copytree(worked.path, tmp_path / "spoilt"))


def faults(book: Book, *, rebuild: bool = False) -> dict[str, list[str]]:
    proof = verify(book, rebuild=rebuild)
    found = {name: p["faults"] for name, p in proof["promises"].items() if not p["ok"]}
    assert proof["ok"] == (not found)
    return found


def test_an_untouched_book_holds_every_promise(worked: Book) -> None:
    assert faults(worked, rebuild=True) == {}


def test_a_second_writer_is_refused_where_the_first_does_not_let_go(spoilt: Book) -> None:
    with writing(spoilt):
        with pytest.raises(BookError, match="Another command is writing to this book") as error:
            with writing(spoilt, wait_s=0.05):
                pytest.fail("two writers at once")
        assert error.value.exit_code == 3
    with writing(spoilt, wait_s=0.05):
        pass


def test_a_second_writer_waits_for_the_first(spoilt: Book, tmp_path: Path) -> None:
    path = sheet(tmp_path, "late.csv", "payments", [{"payment_no": "P-9", "day": "2026-06-01"}])
    begun, done = threading.Event(), []

    def second() -> None:
        begun.set()
        done.extend(taken(spoilt, path))

    writer = threading.Thread(target=second)
    with writing(spoilt):
        before = (spoilt.path / "journal.jsonl").read_bytes()
        writer.start()
        begun.wait()
        writer.join(timeout=0.3)
        assert writer.is_alive() and not done
        assert (spoilt.path / "journal.jsonl").read_bytes() == before
    writer.join(timeout=60)
    assert [sheet.counted for sheet in done] == [1]


# A process that is killed in the midst of writing: while it waits for the disk with the parts that
# it is given the folder of.
KILLED = """
import os, signal, sys
from pathlib import Path
from pipeline.book.book import Book
from pipeline.take import take

book, parts, path = Book(Path(sys.argv[1])), Path(sys.argv[2]), Path(sys.argv[3])
fsync = os.fsync

def wait(file):
    if parts.exists() and any(parts.iterdir()):
        os.kill(os.getpid(), signal.SIGKILL)
    fsync(file)

os.fsync = wait
take(book, [path], by="clerk", at="2026-06-30T12:00:00Z")
"""


@pytest.mark.parametrize("parts", ["sheets/.part-sheets", "seasons/.part-2026.current"])
def test_what_a_killed_writer_left_is_cleared_away_and_nothing_is_lost(
    spoilt: Book, tmp_path: Path, parts: str
) -> None:
    calm = Book(shutil.copytree(spoilt.path, tmp_path / "calm"))
    path = sheet(tmp_path, "late.csv", "payments", [{"payment_no": "P-9", "day": "2026-06-01"}])
    taken(calm, path)
    command = [sys.executable, "-c", KILLED, spoilt.path, spoilt.path / parts, path]
    assert subprocess.run(command, check=False).returncode == -signal.SIGKILL
    assert (spoilt.path / parts).exists()
    taken(spoilt, path)
    assert not list(spoilt.path.rglob(".part-*"))
    assert tables(spoilt, *EVERYTHING) == tables(calm, *EVERYTHING)
    assert spoilt.journal().path.read_bytes() == calm.journal().path.read_bytes()


def test_a_torn_last_line_is_cut_off_wherever_it_tore(worked: Book, tmp_path: Path) -> None:
    whole = (worked.path / "journal.jsonl").read_bytes()
    last = whole.rstrip(b"\n").rpartition(b"\n")[0] + b"\n"
    acknowledged = read_journal(worked.path / "journal.jsonl").lines
    for cut in (*range(len(last) + 1, len(whole), 37), len(whole) - 1):
        path = tmp_path / "journal.jsonl"
        path.write_bytes(whole[:cut])
        journal = read_journal(path)
        assert journal.lines == acknowledged[:-1]
        assert journal.torn_bytes == cut - len(last)


def test_after_a_torn_line_the_book_goes_on_and_nothing_acknowledged_is_lost(
    spoilt: Book, tmp_path: Path
) -> None:
    acknowledged = spoilt.journal().lines
    with (spoilt.path / "journal.jsonl").open("ab") as file:
        file.write(b'{"at":"2026-07-01T08:00:00Z","body":{"sheets":[{"na')
    assert spoilt.journal().lines == acknowledged
    assert verify(spoilt, rebuild=False)["promises"]["journal"]["torn_bytes"] > 0
    (done,) = taken(spoilt, sheet(tmp_path, "more.csv", "weighings", [{"receipt_no": "7"}]))
    assert done.counted == 1
    journal = spoilt.journal()
    assert journal.lines[:-1] == acknowledged
    assert journal.torn_bytes == 0
    assert faults(spoilt, rebuild=True) == {}


LINES = 5  # opened, settings, registers, weighings, payments


def test_the_journal_has_the_lines_that_are_spoilt_below(worked: Book) -> None:
    assert len(worked.journal().lines) == LINES


@pytest.mark.parametrize("n", range(LINES))
def test_a_changed_journal_line_is_noticed(spoilt: Book, n: int) -> None:
    path = spoilt.path / "journal.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    changed = lines[n].replace(b'Z","body"', b'Y","body"', 1)
    assert changed != lines[n]
    path.write_bytes(b"".join([*lines[:n], changed, *lines[n + 1 :]]))
    said = faults(spoilt, rebuild=n == LINES - 1)
    assert said
    if n < LINES - 1:
        assert f"line {n + 2} does not follow from the line before it" in said["journal"][0]


@pytest.mark.parametrize("n", range(LINES))
def test_a_journal_line_taken_away_is_noticed(spoilt: Book, n: int) -> None:
    path = spoilt.path / "journal.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:n] + lines[n + 1 :]))
    assert faults(spoilt, rebuild=n == LINES - 1)


def test_a_changed_journal_is_not_written_to(spoilt: Book, tmp_path: Path) -> None:
    path = spoilt.path / "journal.jsonl"
    spoilt_text = path.read_bytes().replace(b'"clerk"', b'"clerc"', 1)
    path.write_bytes(spoilt_text)
    with pytest.raises(DamageError, match="Restore the book from a backup") as error:
        taken(spoilt, sheet(tmp_path, "more.csv", "payments", [{"payment_no": "P-9"}]))
    assert error.value.exit_code == 5
    assert path.read_bytes() == spoilt_text


def test_a_changed_sheet_byte_is_noticed_and_named(spoilt: Book) -> None:
    sha256 = ask(spoilt, "select sha256 from sheets where name = 'w.csv'")[0][0]
    path = spoilt.sheet_path(sha256)
    path.write_bytes(path.read_bytes().replace(b"60.0", b"66.0", 1))
    (said,) = faults(spoilt)["sheets_kept"]
    assert said.startswith(f"w.csv: The sheet {sha256[:12]} in sheets/ was changed")
    with pytest.raises(DamageError, match="was changed after it arrived"):
        rebuild(spoilt)


def test_a_deleted_sheet_is_noticed_and_named(spoilt: Book) -> None:
    sha256 = ask(spoilt, "select sha256 from sheets where name = 'p.csv'")[0][0]
    spoilt.sheet_path(sha256).unlink()
    (said,) = faults(spoilt)["sheets_kept"]
    assert said == f"p.csv: The sheet {sha256[:12]} is gone from sheets/. Restore it."


def test_a_deleted_season_file_is_worked_out_anew_the_same(spoilt: Book) -> None:
    before = tables(spoilt, *EVERYTHING)
    assert before["transfers"] and before["rows_weighings"]
    shutil.rmtree(spoilt.seasons)
    spoilt.seasons.mkdir()
    (said,) = faults(spoilt)["season 2026"]
    assert said == f"There is no file for season 2026. Run: weighbook rebuild {spoilt.path}"
    rebuild(open_book(spoilt.path))
    assert tables(spoilt, *EVERYTHING) == before
    assert faults(spoilt, rebuild=True) == {}


@pytest.mark.parametrize(
    ("tampering", "promise", "says"),
    [
        (
            "update member_season set value_minor = value_minor + 1, "
            f"balance_minor = balance_minor + 1 where member_no = '{ASHA}'",
            "it_adds_up 2026",
            "members' statements differ from the ledger",
        ),
        (
            "update settlements set value_minor = value_minor + 1 where row_no = 2",
            "it_adds_up 2026",
            "members' statements differ from the ledger",
        ),
        ("delete from filled_weighings where row_no = 2", "nothing_lost 2026", "w.csv (sheet 4)"),
        (
            "update filled_weighings set receipt_no = 1",
            "nothing_twice 2026",
            "receipt line KES|K01|1|1 counts 2 times",
        ),
        (
            "update filled_members set name = 'Another' where row_no = 2",
            "same_in_same_out 2026",
            "table rows_members differs",
        ),
        (
            "update filled_weighings set moisture_pct = moisture_pct + 1",
            "same_in_same_out 2026",
            "table rows_weighings differs",
        ),
    ],
)
def test_a_tampered_season_file_breaks_its_promise(
    spoilt: Book, tampering: str, promise: str, says: str
) -> None:
    with duckdb.connect(str(must_have(spoilt, "2026"))) as con:
        con.execute(tampering)
    said = faults(spoilt, rebuild=promise.startswith("same"))
    assert any(says in fault for fault in said[promise]), said
