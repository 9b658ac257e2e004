"""Backups: whole while work goes on, only what is new, sealed, checked, brought back the same."""

import os
import shutil
import subprocess
import threading
import zlib
from collections.abc import Iterator
from pathlib import Path

import pytest

from pipeline.backup.backup import (
    HEAD,
    BackedUp,
    back_up,
    opened,
    read_object,
    read_snapshot,
    snapshots,
)
from pipeline.backup.place import Place
from pipeline.backup.restore import drill, fetch, restore
from pipeline.book.book import Book
from pipeline.book.keys import book_keys
from pipeline.desk.accounts import Accounts
from pipeline.errors import BackupError, DamageError
from pipeline.season.kept_sheets import kept_sheets
from pipeline.verify import verify
from tests.take.small import made, registers, sheet, tables, taken

KEY = "a passphrase of the test"
WEIGHED = [{"receipt_no": "1"}, {"receipt_no": "2", "net_kg": "61.2"}]


@pytest.fixture(scope="session")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Book:
    folder = tmp_path_factory.mktemp("kept")
    book = made(folder / "book")
    taken(book, *registers(folder), sheet(folder, "w.csv", "weighings", WEIGHED))
    return book


@pytest.fixture
def book(kept: Book, tmp_path: Path) -> Book:
    return Book(shutil.copytree(kept.path, tmp_path / "book"))


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "disk" / "backup"


def objects(place: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in (place / "objects").rglob("*") if p.is_file()}


def test_a_book_comes_back_as_it_was(book: Book, place: Path, tmp_path: Path) -> None:
    key = KEY
    accounts = Accounts(book, quick=True)
    accounts.set_password("Mira Tolm", "four words apart")
    waiting = book.path / "inbox" / "desk" / "1" / "0"
    waiting.mkdir(parents=True)
    (waiting / "sent.csv").write_bytes(b"not taken yet")
    done = back_up(book, str(place), key=key)
    back = restore(str(place), tmp_path / "back", key=key)
    assert back.journal_n == done.journal_n == book.journal().head[0]
    copy = Book(back.book)
    assert copy.journal().head == book.journal().head
    for one in kept_sheets(book.journal()):
        assert copy.sheet(one.entry["sha256"]) == book.sheet(one.entry["sha256"])
    assert tables(copy, "member_season", "transfers") == tables(book, "member_season", "transfers")
    assert (copy.path / "inbox/desk/1/0/sent.csv").read_bytes() == b"not taken yet"
    assert Accounts(copy, quick=True).sign_in("Mira Tolm", "four words apart", "here")
    assert (copy.path / "desk" / "accounts.sqlite").stat().st_mode & 0o077 == 0
    assert verify(copy)["ok"]


def test_only_what_is_new_is_written(book: Book, place: Path, tmp_path: Path) -> None:
    first = back_up(book, str(place))
    again = back_up(book, str(place))
    assert first.new_objects > 0 and (again.new_objects, again.new_bytes) == (0, 0)
    before = objects(place)
    taken(book, sheet(tmp_path, "p.csv", "payments", [{}]))
    third = back_up(book, str(place))
    # The sheet, and the journal that has grown.
    assert third.new_objects == 2
    assert objects(place).items() > before.items()
    assert len(snapshots(Place(str(place)))) == 3


def test_a_snapshot_that_is_being_written_is_none(book: Book, place: Path) -> None:
    done = back_up(book, str(place))
    part = place / "snapshots" / ".part-x7" / ".part-0"
    part.parent.mkdir()
    part.write_bytes(b"half")
    assert snapshots(Place(str(place))) == [done.snapshot]


@pytest.mark.long
def test_an_older_snapshot_comes_back_by_its_name(book: Book, place: Path, tmp_path: Path) -> None:
    first = back_up(book, str(place), at="2026-07-01T01:30:00Z")
    taken(book, sheet(tmp_path, "p.csv", "payments", [{}]))
    back_up(book, str(place), at="2026-07-02T01:30:00Z")
    back = restore(str(place), tmp_path / "back", snapshot=first.snapshot)
    assert back.journal_n == first.journal_n < book.journal().head[0]
    with pytest.raises(BackupError, match="There is no snapshot nothing"):
        restore(str(place), tmp_path / "other", snapshot="nothing")
    assert not (tmp_path / "other").exists()


@pytest.mark.long
def test_a_sealed_backup_shows_nothing_and_opens_with_its_key_alone(
    book: Book, place: Path, tmp_path: Path
) -> None:
    (book.path / "service.toml").write_text('[service]\nnotify = ["mailto://secret@x"]\n')
    back_up(book, str(place), key=KEY)
    sheets = {one.entry["sha256"] for one in kept_sheets(book.journal())}
    for path in place.rglob("*"):
        if path.is_file():
            raw = path.read_bytes()
            assert b"Asha" not in raw and b"secret@x" not in raw and path.name not in sheets
            with pytest.raises(zlib.error):
                zlib.decompress(raw)
    with pytest.raises(BackupError, match=r"is sealed. Give its passphrase"):
        restore(str(place), tmp_path / "back")
    with pytest.raises(BackupError, match=r"not the one that .* was sealed with"):
        restore(str(place), tmp_path / "back", key="another passphrase")
    with pytest.raises(BackupError, match="too short"):
        back_up(book, str(tmp_path / "weak"), key="short")
    assert (
        "secret@x"
        in (restore(str(place), tmp_path / "back", key=KEY).book / "service.toml").read_text()
    )
    # Unsealed, secrets of the service stay on the machine.
    back_up(book, str(tmp_path / "open"))
    assert not (restore(str(tmp_path / "open"), tmp_path / "plain").book / "service.toml").exists()


@pytest.mark.parametrize("key", ["", pytest.param(KEY, marks=pytest.mark.long)])
def test_a_flipped_byte_in_any_piece_is_noticed(book: Book, place: Path, key: str) -> None:
    done = back_up(book, str(place), key=key)
    where = Place(str(place))
    seal = opened(where, key)
    pieces = [path for path in place.rglob("*") if path.is_file() and path.name != HEAD]
    assert len(pieces) > 5
    for path in pieces:
        whole = path.read_bytes()
        for at in (0, len(whole) // 2, len(whole) - 1):
            path.write_bytes(whole[:at] + bytes([whole[at] ^ 0x10]) + whole[at + 1 :])
            with pytest.raises(BackupError, match=r"damaged|cannot be opened"):
                if path.name == done.snapshot:
                    read_snapshot(where, seal, path.name)
                else:
                    read_object(where, seal, path.name)
        path.write_bytes(whole)


@pytest.mark.long
def test_nothing_is_restored_from_a_damaged_piece(book: Book, place: Path, tmp_path: Path) -> None:
    back_up(book, str(place))
    largest = max(objects(place), key=lambda name: len(objects(place)[name]))
    (place / "objects" / largest[:2] / largest).write_bytes(b"spoilt")
    with pytest.raises(BackupError, match="damaged"):
        restore(str(place), tmp_path / "back")
    assert [path.name for path in tmp_path.iterdir()] == ["book", "disk"]


@pytest.mark.long
def test_a_damaged_piece_is_not_built_on(book: Book, place: Path, tmp_path: Path) -> None:
    """A piece that is gone from the disk is written again by the next backup."""
    back_up(book, str(place))
    gone = max(
        (place / "objects").rglob("*"), key=lambda path: path.stat().st_size * path.is_file()
    )
    gone.unlink()
    with pytest.raises(BackupError, match="Something is gone"):
        restore(str(place), tmp_path / "back")
    assert back_up(book, str(place)).new_objects == 1
    assert restore(str(place), tmp_path / "back").files


def test_a_book_without_a_sheet_is_backed_up_and_proven(place: Path, tmp_path: Path) -> None:
    book = made(tmp_path / "new")
    back_up(book, str(place))
    proven = drill(book, str(place))
    assert (proven.documents, proven.differing) == (0, ())
    assert restore(str(place), tmp_path / "back").journal_n == book.journal().head[0]


def test_a_damaged_book_is_not_backed_up(book: Book, place: Path) -> None:
    first = kept_sheets(book.journal())[0].entry["sha256"]
    book.sheet_path(first).write_bytes(b"spoilt")
    with pytest.raises(DamageError, match="was changed after it arrived"):
        back_up(book, str(place))
    assert snapshots(Place(str(place))) == []


def test_a_place_holds_one_book_and_lies_outside_it(
    book: Book, place: Path, tmp_path: Path
) -> None:
    back_up(book, str(place))
    other = made(tmp_path / "other")
    append_something(other, tmp_path)
    with pytest.raises(BackupError, match="holds the backup of another book"):
        back_up(other, str(place))
    with pytest.raises(BackupError, match="lies inside the book"):
        back_up(book, str(book.path / "backup"))
    with pytest.raises(BackupError, match="There is no backup in"):
        restore(str(tmp_path / "nowhere"), tmp_path / "back")
    with pytest.raises(BackupError, match="there already and not empty"):
        restore(str(place), book.path)
    with pytest.raises(BackupError, match="needs a package that is not installed"):
        back_up(book, "abfs://bucket/backup")


def append_something(book: Book, folder: Path) -> None:
    path = book.path / "journal.jsonl"
    path.write_bytes(path.read_bytes().replace(b"2026-03-30T06", b"2026-03-30T07"))
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(lines[0])


@pytest.mark.long
def test_while_sheets_are_taken_every_backup_is_whole(
    book: Book, place: Path, tmp_path: Path
) -> None:
    made_then: list[BackedUp] = []
    stop = threading.Event()

    def keep_backing_up() -> None:
        while not stop.is_set():
            made_then.append(
                back_up(book, str(place), at=f"2026-07-01T00:00:{len(made_then):02d}Z")
            )

    worker = threading.Thread(target=keep_backing_up)
    worker.start()
    for n in range(4):
        one = {"payment_no": f"P-{n}", "day": f"2026-06-0{n + 1}"}
        taken(book, sheet(tmp_path, f"p{n}.csv", "payments", [one]))
    stop.set()
    worker.join(60)
    assert len(made_then) > 1
    for done in (made_then[0], made_then[len(made_then) // 2], made_then[-1]):
        back = tmp_path / done.snapshot
        assert restore(str(place), back, snapshot=done.snapshot).journal_n == done.journal_n


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of its own, of 256 KiB."""
    disk = tmp_path / "small"
    disk.mkdir()
    mount = shutil.which("mount")
    if os.name != "posix" or os.geteuid() != 0 or mount is None:
        pytest.skip("only root may mount a small disk")
    done = subprocess.run(
        [mount, "-t", "tmpfs", "-o", "size=256k", "tmpfs", str(disk)],
        capture_output=True,
        check=False,
    )
    if done.returncode:
        pytest.skip(f"no small disk can be mounted here: {done.stderr.decode()}")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


def test_a_full_disk_is_named_and_the_backup_goes_on_with_room(
    book: Book, small_disk: Path, tmp_path: Path
) -> None:
    place = small_disk / "backup"
    back_up(book, str(place))
    noise = book.path / "inbox" / "photo.jpg"
    noise.write_bytes(os.urandom(600_000))
    with pytest.raises(BackupError, match=r"is full. Make room"):
        back_up(book, str(place))
    # What was made before is as good as it was, and goes on once there is room.
    assert restore(str(place), tmp_path / "back").files
    noise.unlink()
    for path in (place / "objects").rglob("*"):
        if path.is_file() and path.stat().st_size > 100_000:
            path.unlink()
    assert back_up(book, str(place)).files


@pytest.mark.parametrize("key", ["", KEY])
def test_the_key_that_signs_comes_back_from_a_sealed_backup_alone(
    book: Book, place: Path, tmp_path: Path, key: str
) -> None:
    raw = book_keys(book).raw
    back_up(book, str(place), key=key)
    fetch(str(place), tmp_path / "back", key=key)
    back = Book(tmp_path / "back")
    assert (back.path / "keys").exists() == bool(key)
    # It is its owner's alone; a book without it makes a new one.
    assert (book_keys(back).raw == raw) == bool(key)


@pytest.mark.long
def test_a_drill_proves_the_copy_and_names_what_differs(
    book: Book, place: Path, tmp_path: Path
) -> None:
    book_keys(book)
    back_up(book, str(place), key=KEY)
    taken(book, sheet(tmp_path, "p.csv", "payments", [{}]))
    proven = drill(book, str(place), key=KEY)
    assert proven.differing == () and proven.tables > 10 and proven.documents > 6
    # Another key in the book than in the backup: its statements would be signed otherwise.
    shutil.rmtree(book.path / "keys")
    book_keys(book)
    assert "keys/sign.pem: kept otherwise in the copy" in drill(book, str(place), key=KEY).differing
    # A sheet that changed in the book since is another than the one that was backed up.
    sha256 = next(
        x.entry["sha256"] for x in kept_sheets(book.journal()) if x.entry["name"] == "w.csv"
    )
    path = book.sheet_path(sha256)
    path.write_bytes(path.read_bytes().replace(b"60.0", b"66.0"))
    with pytest.raises(DamageError, match="was changed after it arrived"):
        drill(book, str(place), key=KEY)
