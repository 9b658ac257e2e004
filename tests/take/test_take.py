"""Sheets that cannot be read: each is named with what it should be, and the rest goes on."""

from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.book.book import Book, open_book
from pipeline.errors import BookError
from pipeline.intake.kinds import kinds
from pipeline.queue import season_flags
from pipeline.season.schema import STATES
from pipeline.taken import Taken
from tests.take.small import ASHA, SOUND, ask, made, number, registers, sheet, taken

PNG = b"\x89PNG\r\n\x1a\n" + bytes(40)


@pytest.fixture(scope="module")
def messy(
    copy_for_module: Callable[[], Book], tmp_path_factory: pytest.TempPathFactory
) -> tuple[Book, dict[str, Taken]]:
    """One take of sheets of every sort of trouble, with sound ones between and after them."""
    book = copy_for_module()
    folder = tmp_path_factory.mktemp("messy")
    for name, content in {
        "empty.csv": b"",
        "blank.csv": b"\n \n",
        "photo.csv": PNG,
        "notes.csv": b"Meeting,Hall,Present\n2026-05-01,Kessim,41\n2026-05-08,Kessim,38\n",
        "book.xlsx": b"PK\x03\x04" + bytes(40),
    }.items():
        (folder / name).write_bytes(content)
    (folder / "a_folder").mkdir()
    paths = [
        sheet(folder, "first.csv", "weighings", [{"receipt_no": "1"}, {"receipt_no": "2"}]),
        *(folder / name for name in ("gone.csv", "a_folder", "empty.csv", "blank.csv")),
        *(folder / name for name in ("photo.csv", "notes.csv", "book.xlsx")),
        sheet(folder, "no_kg.csv", "deliveries", [{}, {"day": "2026-05-05"}], without=["kg"]),
        sheet(
            folder,
            "cells.csv",
            "weighings",
            [
                {"receipt_no": "3", "recorder": "Other"},
                {"receipt_no": "4", "recorder": "Other", "gross_kg": "12.5.3"},
                {"receipt_no": "5", "recorder": "Other", "form": "beans"},
                {"receipt_no": "6", "recorder": "Other", "day": "4 May"},
                {"receipt_no": "7", "recorder": "Other", "bags": "1.5"},
                {"receipt_no": "8", "recorder": "Other", "net_kg": "60.0005"},
            ],
        ),
        sheet(folder, "last.csv", "payments", [{}]),
    ]
    with (folder / "cells.csv").open("a", encoding="utf-8") as file:
        cells = SOUND["weighings"] | {"receipt_no": "9", "recorder": "Other"}
        line = [cells.get(column.name, "") for column in kinds()["weighings"].columns]
        file.write(",".join([*line, "stray"]) + "\n")
    return book, {done.sheet: done for done in taken(book, *paths)}


@pytest.mark.parametrize(
    ("name", "status", "says"),
    [
        ("gone.csv", "absent", "gone.csv is not there, or cannot be opened. Look at the name."),
        ("a_folder", "absent", "a_folder is a folder. Name the sheets in it."),
        ("empty.csv", "kept", "The file is empty. Send the sheet again."),
        (
            "photo.csv",
            "kept",
            "This is a picture or a scanned paper (PNG). It is kept, and",
        ),
        ("notes.csv", "kept", "No kind of sheet has these headings: Meeting, Hall, Present."),
        ("book.xlsx", "kept", "is damaged or was not sent whole."),
        (
            "no_kg.csv",
            "taken",
            "The sheet has no column Kg. Add it and send the whole sheet again.",
        ),
    ],
)
def test_a_sheet_that_cannot_be_read_says_what_to_do(
    name: str, status: str, says: str, messy: tuple[Book, dict[str, Taken]]
) -> None:
    done = messy[1][name]
    assert done.status == status
    assert says in done.message
    assert done.message.endswith(".")
    assert done.counted == 0


def test_the_sound_sheets_count_all_the_same(messy: tuple[Book, dict[str, Taken]]) -> None:
    book, done = messy
    assert (done["first.csv"].counted, done["last.csv"].counted) == (2, 1)
    assert done["no_kg.csv"].sent_back == done["no_kg.csv"].arrived == 2
    assert done["notes.csv"].sent_back == done["notes.csv"].arrived == 2
    for sheet_done in done.values():
        assert sheet_done.arrived == sum(getattr(sheet_done, state) for state in STATES)
    assert ask(
        book, "select deliveries, paid_minor from member_season where member_no = ?", ASHA
    ) == [(3, 1000)]


def test_the_cell_that_cannot_be_read_is_named_with_its_text(
    messy: tuple[Book, dict[str, Taken]],
) -> None:
    book, done = messy
    assert (done["cells.csv"].counted, done["cells.csv"].sent_back) == (1, 6)
    said = {
        flag.row: (flag.place, flag.say, flag.do)
        for _, flag in season_flags(book)
        if flag.sheet == "cells.csv" and flag.rule == "unreadable-cell"
    }
    assert sorted(said) == [3, 4, 5, 6, 7, 8]
    assert said[3] == (
        'cells.csv, row 3, column "Gross kg", value "12.5.3"',
        "The cell has more decimal points than a number can have.",
        "Look at the paper and write the number with one point.",
    )
    for row, column, value, says in (
        (4, "Form", "beans", "The cell is none of the words known here."),
        (5, "Date", "4 May", "The cell has no year."),
        (6, "Bags", "1.5", "The cell is no whole number."),
        (7, "Net kg", "60.0005", "The cell has more decimals than are kept."),
    ):
        place = f'cells.csv, row {row}, column "{column}", value "{value}"'
        assert said[row][:2] == (place, says)
    # What stands under no heading is in no column that could be named.
    assert said[8][:2] == ("cells.csv, row 8", "The cell stands to the right of the last heading.")


def test_letters_of_another_encoding_are_read_and_said(book: Book, tmp_path: Path) -> None:
    zoe = {"member_no": number(1500), "name": "Zoë Tarn"}
    path = sheet(tmp_path, "latin.csv", "members", [zoe])
    path.write_bytes(path.read_text("utf-8").encode("latin-1"))
    (done,) = taken(book, path)
    assert (done.status, done.kind, done.counted, done.message) == ("taken", "members", 1, "")
    assert [(note["code"], note["sentence"]) for note in done.notes] == [
        ("encoding", 'The letters were read as Windows-1252: "Zoë".'),
        (
            "encoding-doubt",
            'The letters may also be Mac Roman: "ZoÎ" instead of "Zoë". Look at the names; where '
            "they are wrong, save the sheet as CSV in UTF-8 and send it again.",
        ),
    ]
    found = ask(book, "select name, state from members where member_no = ?", number(1500))
    assert found == [("Zoë Tarn", "counted")]


def test_a_quotation_mark_that_does_not_close_sends_back_its_row_alone(
    book: Book, tmp_path: Path
) -> None:
    rows = [{"member_no": number(n), "name": f"Member {n}"} for n in (1501, 1502, 1503)]
    path = sheet(tmp_path, "quotes.csv", "members", rows)
    path.write_text(path.read_text("utf-8").replace("Member 1502", '"Member 1502'), "utf-8")
    (done,) = taken(book, path)
    assert (done.status, done.counted, done.sent_back) == ("taken", 2, 1)
    assert [(note["code"], note["row_no"], note["sentence"]) for note in done.notes] == [
        (
            "broken-quotes",
            3,
            "Row 3: the quotation marks do not close, or stand wrong. The row goes back as it "
            "stands; rows before and after it were read. Mend its quotation marks.",
        )
    ]
    states = ask(book, "select row_no, state from members where sheet_no = 4 order by row_no")
    assert states == [(2, "counted"), (3, "sent_back"), (4, "counted")]


def test_two_files_of_the_same_bytes_are_one_sheet(book: Book, tmp_path: Path) -> None:
    one = sheet(tmp_path, "one.csv", "weighings", [{}])
    two = tmp_path / "two.csv"
    two.write_bytes(one.read_bytes())
    first, second = taken(book, one, two)
    assert (first.status, second.status) == ("taken", "known")
    assert "taken before" in second.message
    assert ask(book, "select count(*) from weighings") == [(1,)]


def test_what_was_taken_says_who_and_when(book: Book, tmp_path: Path) -> None:
    taken(book, sheet(tmp_path, "w.csv", "weighings", [{}]))
    line = book.journal().lines[-1]
    assert (line.what, line.at) == ("taken", "2026-06-30T12:00:00Z")
    assert (line.body["by"], line.body["day"]) == ("clerk", "2026-06-30")
    assert [entry["name"] for entry in line.body["sheets"]] == ["w.csv"]


def test_a_folder_that_is_no_book_is_refused(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "nowhere"):
        with pytest.raises(BookError, match=f"There is no book in {path}. Make one with") as error:
            open_book(path)
        assert error.value.exit_code == 3


def test_a_book_is_made_only_in_an_empty_folder(book: Book) -> None:
    before = (book.path / "journal.jsonl").read_bytes()
    with pytest.raises(BookError, match="is there already and not empty"):
        made(book.path)
    assert (book.path / "journal.jsonl").read_bytes() == before


def test_taking_the_registers_again_changes_nothing(book: Book, tmp_path: Path) -> None:
    before = (book.path / "journal.jsonl").read_bytes()
    assert {done.status for done in taken(book, *registers(tmp_path))} == {"known"}
    assert (book.path / "journal.jsonl").read_bytes() == before
