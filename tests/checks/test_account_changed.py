"""A later sheet cannot turn payments to another account by itself."""

from pathlib import Path

import pytest

from pipeline.book.book import Book, kept_settings
from pipeline.decide import decide, take_back
from pipeline.errors import DecisionError
from pipeline.paying import payment_list
from pipeline.queue import season_flags
from pipeline.season.flags import Flag
from pipeline.upkeep import rebuild
from tests.take.small import ASHA, AT, BY, DAY, SETTINGS, made, registers, sheet, taken

FIRST, SECOND, THIRD = "00 4410 2231", "00 9999 1111", "00 8888 2222"


def account(book: Book, folder: Path, name: str, number: str) -> None:
    taken(book, sheet(folder, f"members_{name}.csv", "members", [{"account": number}]))


def changed(book: Book) -> Flag:
    (found,) = (flag for _, flag in season_flags(book) if flag.rule == "account-changed")
    return found


def paid_to(book: Book) -> tuple[str, bool]:
    journal = book.journal()
    made_now = payment_list(book, journal, kept_settings(journal), "2026", DAY, ("bank",))
    (payee,) = (one for one in made_now.payees if one.member_no == ASHA)
    return payee.account, ASHA in [one["member_no"] for one in made_now.accounts_waiting]


@pytest.mark.long
def test_payments_go_to_the_earlier_account_until_somebody_else_agrees(tmp_path: Path) -> None:
    book = made(tmp_path / "book", SETTINGS)
    taken(
        book,
        *registers(tmp_path),
        sheet(tmp_path, "w_2026-W19.csv", "weighings", [{}]),
        sheet(tmp_path, "p_2026-W19.csv", "payments", [{"method": "bank", "amount": "1.00"}]),
    )
    # The first account is nobody's change, and the same in other spaces is none.
    account(book, tmp_path, "a", FIRST)
    account(book, tmp_path, "b", FIRST.replace(" ", ""))
    assert [flag for _, flag in season_flags(book) if flag.rule == "account-changed"] == []
    assert paid_to(book)[1] is False
    account(book, tmp_path, "c", SECOND)
    flag = changed(book)
    assert flag.say.startswith(
        "Another account than before: it ends in 111, and the earlier in 231"
    )
    assert SECOND not in f"{flag.place} {flag.value} {flag.say} {flag.do}"
    assert paid_to(book) == (FIRST, True)
    # A second unagreed change does not make the first one good.
    account(book, tmp_path, "d", THIRD)
    assert paid_to(book) == (FIRST, True)
    with pytest.raises(DecisionError, match="Somebody else agrees"):
        decide(book, changed(book).short, "count", because="I asked", by=BY, at=AT)
    decide(book, changed(book).short, "count", because="asked at home", by="manager", at=AT)
    assert paid_to(book) == (THIRD, False)
    # The next sheet says the same: what was agreed stands, and does after a rebuild.
    account(book, tmp_path, "e", THIRD)
    assert paid_to(book) == (THIRD, False)
    rebuild(book)
    assert paid_to(book) == (THIRD, False)
    take_back(book, changed(book).short, because="it was another member", by="manager", at=AT)
    assert paid_to(book) == (FIRST, True)
