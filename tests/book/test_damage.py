"""Faults of disk, clock and versions: noticed, named, survived or refused."""

import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import duckdb
import pytest
from click.testing import CliRunner

from pipeline.book.book import Book, open_book
from pipeline.book.journal import append
from pipeline.cli.main import cli
from pipeline.errors import BookError, DamageError
from pipeline.season.generations import must_have
from pipeline.service.status import status
from pipeline.take import take
from pipeline.upkeep import rebuild
from pipeline.verify import verify
from tests.take.small import AT, ask, made, registers, sheet, tables, taken

LATER = {"payment_no": "P-9", "day": "2026-06-01"}


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Book:
    folder = tmp_path_factory.mktemp("whole")
    book = made(folder / "book")
    taken(book, *registers(folder), sheet(folder, "w.csv", "weighings", [{}]))
    return book


@pytest.fixture
def book(whole: Book, tmp_path: Path) -> Book:
    return Book(shutil.copytree(whole.path, tmp_path / "book"))


def faults(book: Book) -> list[str]:
    promises = verify(book, rebuild=False)["promises"].values()
    return [fault for promise in promises for fault in promise["faults"]]


@pytest.mark.damaged
@pytest.mark.long
@pytest.mark.parametrize("part", [0.0, 0.001, 0.35, 0.6])
def test_a_season_file_that_is_damaged_is_named_and_made_anew(
    book: Book, tmp_path: Path, part: float
) -> None:
    """Sixteen bytes flipped; DuckDB's blocks carry checksums, free ones hold nothing of ours."""
    before = tables(book, "member_season", "transfers", "rows_weighings")
    path = must_have(book, "2026")
    content = bytearray(path.read_bytes())
    at = int(len(content) * part)
    content[at : at + 16] = bytes(byte ^ 0xFF for byte in content[at : at + 16])
    path.write_bytes(content)
    said = faults(book)
    assert not said or f"{path.name} is damaged" in said[0]
    assert said or part > 0, "the file's own header is always looked at"
    (done,) = taken(book, sheet(tmp_path, "p.csv", "payments", [LATER]))
    assert done.counted == 1
    assert faults(book) == []
    rebuild(book)
    assert tables(book, "rows_weighings") == {"rows_weighings": before["rows_weighings"]}
    assert verify(book)["ok"]


@pytest.mark.damaged
def test_a_season_file_whose_head_rots_on_the_disk_is_made_anew_though_nothing_is_new(
    book: Book, tmp_path: Path
) -> None:
    """No clock tells of it: size and time of the file are as they were."""
    path = must_have(book, "2026")
    status = path.stat()
    path.write_bytes(bytes(status.st_size))
    os.utime(path, ns=(status.st_atime_ns, status.st_mtime_ns))
    again = sheet(tmp_path, "w.csv", "weighings", [{}])
    (done,) = taken(book, again)
    assert done.counted == 1
    assert must_have(book, "2026") != path
    assert verify(book)["ok"]


def test_an_older_season_file_is_worked_out_anew(book: Book, tmp_path: Path) -> None:
    with duckdb.connect(str(must_have(book, "2026"))) as con:
        con.execute("update file_facts set schema_no = 0")
        con.execute("drop table member_season")
    (done,) = taken(book, sheet(tmp_path, "p.csv", "payments", [LATER]))
    assert done.counted == 1
    assert ask(book, "select schema_no from file_facts")[0][0] > 0
    assert verify(book)["ok"]


def test_a_newer_season_file_is_refused_and_stays_as_it_was(book: Book, tmp_path: Path) -> None:
    path = must_have(book, "2026")
    with duckdb.connect(str(path)) as con:
        con.execute("update file_facts set schema_no = 99")
    content = path.read_bytes()
    for attempt in (rebuild, lambda one: taken(one, sheet(tmp_path, "p.csv", "payments", [LATER]))):
        with pytest.raises(BookError, match="written by a newer Weighbook"):
            attempt(book)
    assert must_have(book, "2026") == path and path.read_bytes() == content


def test_a_newer_journal_is_refused_by_every_command(book: Book, tmp_path: Path) -> None:
    append(book.journal(), "format", {"format": 2}, AT)
    lines = (book.path / "journal.jsonl").read_bytes()
    paper = sheet(tmp_path, "p.csv", "payments", [LATER])
    for words in (["take", book.path, paper], ["flags", book.path], ["rebuild", book.path]):
        done = CliRunner().invoke(cli, [str(word) for word in words])
        assert done.exit_code == 3
        assert "written by a newer Weighbook (its format is 2" in done.stderr
    assert (book.path / "journal.jsonl").read_bytes() == lines


def test_a_clock_set_back_is_named_and_loses_nothing(book: Book, tmp_path: Path) -> None:
    path = sheet(tmp_path, "p.csv", "payments", [LATER])
    take(book, [path], by="clerk", at="2001-01-01T00:00:00Z")
    journal = book.journal()
    assert [line.n for line in journal.lines] == list(range(1, len(journal.lines) + 1))
    # To that clock the payment lies ahead: it waits with its reason, and the clock is named.
    assert ask(book, "select state from payments") != [("counted",)]
    said = status(book, "2001-01-01T00:00:00Z").wrong
    assert any("Set the clock." in line for line in said)
    assert verify(book)["ok"]


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Callable[[str], Path]]:
    """Mounts a disk of its own with options, and takes it away again."""
    mount, folder = shutil.which("mount"), tmp_path / "disk"
    if os.name != "posix" or os.geteuid() != 0 or mount is None:
        pytest.skip("only root may mount a disk")
    folder.mkdir()

    def mounted(options: str) -> Path:
        already = os.path.ismount(folder)
        command = [mount, "-t", "tmpfs", "-o", options, "tmpfs", str(folder)]
        if already:
            command = [mount, "-o", f"remount,{options}", str(folder)]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if done.returncode:
            pytest.skip(f"no disk can be mounted here: {done.stderr}")
        return folder

    yield mounted
    subprocess.run(["umount", str(folder)], check=False)


def run(*words: object) -> tuple[int, str]:
    done = CliRunner().invoke(cli, [str(word) for word in words])
    return done.exit_code, done.stderr


def test_a_full_disk_takes_nothing_half_and_goes_on_with_room(
    whole: Book, disk: Callable[[str], Path], tmp_path: Path
) -> None:
    small = disk("size=64m")
    book = Book(shutil.copytree(whole.path, small / "book"))
    before = book.journal().head
    free = os.statvfs(small)
    with (small / "ballast").open("wb") as file:
        file.write(b"\0" * (free.f_bavail * free.f_frsize - 150_000))
    paper = sheet(tmp_path, "p.csv", "payments", [LATER])
    code, said = run("take", book.path, paper)
    assert code == 3 and ("disk refused" in said or "is full" in said), said
    # Either it was never acknowledged, or its line is whole and the next write works it in.
    assert book.journal().head[0] - before[0] in (0, 1)
    (small / "ballast").unlink()
    code, said = run("take", book.path, paper)
    assert (code, said) == (0, "")
    assert ask(book, "select count(*) from payments where state = 'counted'")[0][0] == 1
    assert verify(open_book(book.path))["ok"]


def test_a_season_beyond_all_memory_is_refused_with_a_sentence(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = tables(book, "member_season", "transfers")
    with monkeypatch.context() as small:
        small.setattr("pipeline.season.tables.LEAST_MEMORY", 2)
        small.setattr("pipeline.season.tables.MEMORY_FOR_ALL", 2)
        code, said = run("rebuild", book.path)
        assert code == 3 and said.count("\n") == 1 and "All sheets are kept" in said, said
    assert tables(book, "member_season", "transfers") == before
    assert run("rebuild", book.path) == (0, "")
    assert tables(book, "member_season", "transfers") == before


def test_a_folder_that_may_only_be_read_is_refused_with_a_sentence(
    whole: Book, disk: Callable[[str], Path], tmp_path: Path
) -> None:
    locked = disk("size=64m")
    book = Book(shutil.copytree(whole.path, locked / "book"))
    disk("ro")
    paper = sheet(tmp_path, "p.csv", "payments", [LATER])
    code, said = run("take", book.path, paper)
    assert code == 3 and said.count("\n") == 1, said
    assert "Traceback" not in said
    # It can still be read and proven.
    assert run("flags", book.path)[0] == 0
    assert verify(book, rebuild=False)["ok"]


@pytest.fixture
def somebody_else(whole: Book) -> Iterator[Callable[[], object]]:
    """Makes this process that of a user who owns nothing here, until the test ends."""
    if os.name != "posix" or os.geteuid() != 0:
        pytest.skip("only root may become somebody else")
    yield lambda: os.seteuid(65534)
    os.seteuid(0)


def test_who_has_no_rights_is_told_whom_to_ask_and_may_still_read(
    whole: Book, somebody_else: Callable[[], object], tmp_path: Path
) -> None:
    paper = sheet(tmp_path, "p.csv", "payments", [LATER])
    # What is loaded late is loaded before: the other user may not read this Python.
    run("take", shutil.copytree(whole.path, tmp_path / "other"), paper)
    run("backup", tmp_path / "other", tmp_path / "disk")
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o755)
        book = Book(shutil.copytree(whole.path, Path(name) / "book"))
        shutil.copy(paper, name)
        run("flags", book.path)
        before = book.journal().head
        somebody_else()
        code, said = run("take", book.path, Path(name) / paper.name)
        assert (code, said.count("\n")) == (3, 1) and "Ask who owns the folder" in said
        code, said = run("backup", book.path, Path(name) / "disk")
        assert code and "may you write there?" in said, said
        assert run("flags", book.path)[0] == 0
        assert book.journal().head == before
        os.seteuid(0)


def test_a_journal_that_was_read_before_is_checked_where_its_bytes_changed(book: Book) -> None:
    path = book.path / "journal.jsonl"
    before = book.journal()
    assert book.journal().lines == before.lines
    later = append(before, "note", {"text": "one more"}, AT)
    assert book.journal().lines == later.lines
    content = path.read_bytes()
    path.write_bytes(content + b'{"half')
    assert book.journal().torn_bytes == 6
    assert book.journal().lines == later.lines
    path.write_bytes(content + b"\n")
    with pytest.raises(DamageError, match=f"line {later.head[0] + 1} "):
        book.journal()
    path.write_bytes(content.replace(b"weighings", b"weighingz", 1))
    with pytest.raises(DamageError, match="line"):
        book.journal()
    path.write_bytes(content)
    assert book.journal().lines == later.lines
