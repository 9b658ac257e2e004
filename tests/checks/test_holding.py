"""What is decided on a finding of many rows holds until the finding has clearly grown."""

from pathlib import Path

import pytest

from checks.rule import SEASON
from checks.rules import RULES
from pipeline.book.book import Book
from pipeline.decide import decide
from pipeline.doubtful import decided_before
from pipeline.queue import season_flags
from pipeline.upkeep import rebuild
from tests.checks.many import Row, book_of
from tests.checks.test_habits import by, day, ending
from tests.take.small import ASHA, ask, sheet, tables, taken

OF_FLAG = "select flag, decision, measure, holds_to from flags where rule = $1"


def week(folder: Path, monday: int, rows: list[Row]) -> Path:
    folder.mkdir(exist_ok=True)
    name = f"weighings_2026-W{19 + monday // 7}.csv"
    return sheet(folder, name, "weighings", [row | {"day": day(monday)} for row in rows])


def settled(book: Book, number: str) -> bool:
    return decide(book, number, "count", because="coarse dial", by="manager").changed


@pytest.mark.long
def test_a_decision_on_last_digits_holds_until_there_is_half_as_much_again(tmp_path: Path) -> None:
    rows = by("Rounds", ending([0, 5], 60))
    book = book_of(tmp_path, [ASHA], {"weighings": rows})
    rule = "last-digits-rounded"
    ((number, decision, measure, holds_to),) = ask(book, OF_FLAG, rule)
    # (5 x 60 - 60)^2 / (4 x 60) = 240, and half of it again.
    assert (decision, measure, holds_to) == (None, 240, 360)
    assert settled(book, number)

    def now() -> tuple[str, str | None]:
        ((found, decided, _, _),) = ask(book, OF_FLAG, rule)
        return found, decided

    # 90 readings, 360: it has grown, and the decision holds.
    taken(book, week(tmp_path / "more", 7, by("Rounds", ending([0, 5], 30))))
    assert now() == (number, "count")
    assert not settled(book, number)
    # A mended first row is another first row of the same finding.
    first = [rows[0] | {"gross_kg": "71.0", "net_kg": "70.0"}, *rows[1:]]
    again = sheet(tmp_path / "more", "weighings_2026-W19.csv", "weighings", first)
    taken(book, again)
    assert now() == (number, "count")
    # 91, 364: it is asked again, by the same number, and may be decided again.
    taken(book, week(tmp_path / "more", 14, by("Rounds", ending([0, 5], 1))))
    assert now() == (number, None)
    (flag,) = (flag for _, flag in season_flags(book) if flag.flag == number)
    told = decided_before(book.journal(), flag)
    assert told.startswith("Decided before by manager on ")
    assert "count (coarse dial). It holds up to 360 (chi-square of 0 and 5); it is 364 now" in told
    assert settled(book, number)
    (flag,) = (flag for _, flag in season_flags(book) if flag.flag == number)
    assert decided_before(book.journal(), flag) == ""
    assert now() == (number, "count")
    before = tables(book, "flags", "decisions")
    rebuild(book)
    assert tables(book, "flags", "decisions") == before


def test_a_gap_that_is_partly_filled_is_not_asked_again(tmp_path: Path) -> None:
    rows = [
        row | {"receipt_no": str(n)} for n, row in zip((1, 9), by("Ama", [31, 32]), strict=True)
    ]
    book = book_of(tmp_path, [ASHA], {"weighings": rows})
    ((number, _, measure, holds_to),) = ask(book, OF_FLAG, "receipt-gap")
    assert (measure, holds_to) == (7, 7)
    assert settled(book, number)
    found = [by("Ama", [33])[0] | {"receipt_no": "2"}]
    taken(book, week(tmp_path / "more", 7, found))
    assert [row[:3] for row in ask(book, OF_FLAG, "receipt-gap")] == [(number, "count", 6)]


def test_only_notes_on_the_whole_season_stand_on_many_rows() -> None:
    many = [rule for rule in RULES if rule.about or rule.band]
    assert len(many) > 10
    assert {rule.code for rule in many if rule.stage != SEASON} == set()
    # What grows with every week's sheets needs a band, or its decision would never lapse.
    assert {rule.code for rule in many if rule.about and not rule.band} == set()
