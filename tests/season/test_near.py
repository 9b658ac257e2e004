"""Near matches are offered for what nobody knows: by number, by code, by name."""

from pathlib import Path

import pytest

from pipeline.book.book import Book
from pipeline.queue import season_flags
from pipeline.season.near import near_codes, near_names
from tests.take.conftest import book, registered  # noqa: F401
from tests.take.small import ASHA, BEMI, sheet, taken

MEMBERS = {"10019": "Asha Doreme", "10024": "Bemi Orlat", "10035": "Ŋala Ɓoro"}


@pytest.mark.parametrize(
    ("written", "offered"),
    [
        ("asha doreme", ["10019"]),
        ("DOREME ASHA", ["10019"]),
        ("Asha Dorme", ["10019"]),
        ("ŋala ɓoro", ["10035"]),
        ("Zeta Quill", []),
    ],
)
def test_names_much_alike_are_offered(written: str, offered: list[str]) -> None:
    assert near_names(written, MEMBERS) == offered


def test_one_slip_or_one_swap_is_near_and_two_are_not() -> None:
    known = ["KES", "PAR", "MUN"]
    assert near_codes("KEZ", known) == near_codes("KSE", known) == ["KES"]
    assert near_codes("KZZ", known) == []


def test_flags_offer_numbers_names_and_the_members_plots(book: Book, tmp_path: Path) -> None:  # noqa: F811
    swapped = BEMI[:-2] + BEMI[-1] + BEMI[-2]
    taken(
        book,
        sheet(
            tmp_path,
            "w.csv",
            "weighings",
            [{"member_no": swapped}, {"member_no": "Asha Doreme", "line": "2"}],
        ),
        sheet(tmp_path, "f.csv", "farm_record", [{"plot_no": "7"}]),
    )
    near = {(f.rule, f.row): f.near for _, f in season_flags(book)}
    assert near["unknown-member", 2] == (f"{BEMI} (Bemi Orlat)",)
    assert near["unknown-member", 3] == (f"{ASHA} (Asha Doreme)",)
    assert near["unknown-plot", 2] == ("1",)
