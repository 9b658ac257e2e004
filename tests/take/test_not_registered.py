"""Coffee and money under a number that the register lacks: owed to the number, and in every sum."""

from pathlib import Path

from pipeline.book.book import Book
from pipeline.decide import decide
from pipeline.explain.why import explain_figure
from pipeline.issue import issue
from pipeline.queue import season_flags
from pipeline.verify import verify
from tests.take.small import AT, BY, ask, sheet, taken

# 1001 with a wrong check digit: no member's.
MISTYPED = "10010"
SEASON = (
    "select registered, value_minor, deducted_minor, paid_minor, balance_minor "
    "from member_season where member_no = ?"
)


def weighed(book: Book, folder: Path, member_no: str) -> None:
    taken(book, sheet(folder, "kes_2026-W19.csv", "weighings", [{"member_no": member_no}]))


def count_all(book: Book, rule: str) -> None:
    for _, flag in season_flags(book):
        if flag.rule == rule:
            decide(book, flag.flag, "count", because="so the paper says", by="Manager", at=AT)


def whole(book: Book) -> None:
    proof = verify(book)
    assert [p for p in proof["promises"].values() if not p["ok"]] == []


def test_a_new_members_row_that_waits_takes_no_coffee_out_of_the_book(
    book: Book, tmp_path: Path
) -> None:
    new = {"member_no": MISTYPED, "name": "Dela Onnar", "village": "Ardolo"}
    taken(book, sheet(tmp_path, "members_2.csv", "members", [new]))
    weighed(book, tmp_path, MISTYPED)
    # 60 kg at 1.00 less 3 % levy.
    assert ask(book, SEASON, MISTYPED) == [(False, 6000, 180, 0, 5820)]
    whole(book)
    # The statement follows when the register has the member.
    first = issue(book, "2026", by=BY, at=AT)
    assert not (first.folder / "statements" / "Ardolo" / f"{MISTYPED}.pdf").exists()
    assert explain_figure(book, f"2026/{MISTYPED}/balance")["value"] == "58.20"
    count_all(book, "member-number-check")
    assert ask(book, SEASON, MISTYPED) == [(True, 6000, 180, 0, 5820)]
    assert issue(book, "2026", by=BY, at=AT).statements == first.statements + 1
    whole(book)


def test_a_payment_to_a_number_that_nobody_has_is_owed_back(book: Book, tmp_path: Path) -> None:
    paid = {"payment_no": "P-1", "member_no": MISTYPED, "amount": "10.00"}
    taken(book, sheet(tmp_path, "pay_2026-W19.csv", "payments", [paid]))
    count_all(book, "unknown-member")
    assert ask(book, SEASON, MISTYPED) == [(False, 0, 0, 1000, -1000)]
    # And with coffee of an unknown number that the manager lets count.
    weighed(book, tmp_path, MISTYPED)
    count_all(book, "unknown-member")
    assert ask(book, SEASON, MISTYPED) == [(False, 6000, 180, 1000, 4820)]
    whole(book)
    issue(book, "2026", by=BY, at=AT)
