"""A later sheet turns payments to no other account by itself, nor brings the first one alone."""

from pathlib import Path

import pytest

from pipeline.book.book import Book, kept_settings
from pipeline.decide import decide, take_back
from pipeline.errors import DecisionError
from pipeline.paying import payment_list
from pipeline.queue import season_flags
from pipeline.raises import ACCOUNT_RULES
from pipeline.season.flags import Flag
from pipeline.season.generations import must_have
from pipeline.season.tables import connect, rows
from pipeline.upkeep import rebuild
from tests.take.small import ASHA, AT, BY, DAY, SETTINGS, made, registers, sheet, taken

FIRST, SECOND, THIRD = "00 4410 2231", "00 9999 1111", "00 8888 2222"


def account(book: Book, folder: Path, name: str, number: str) -> None:
    # Each sheet of its own bytes: the same ones again would change nothing.
    row = {"account": number, "heirs": f"heir {name}"}
    taken(book, sheet(folder, f"members_{name}.csv", "members", [row]))


def asked(book: Book) -> list[Flag]:
    return [flag for _, flag in season_flags(book) if flag.rule in ACCOUNT_RULES]


def changed(book: Book) -> Flag:
    (found,) = asked(book)
    return found


def paid_to(book: Book) -> tuple[str, bool]:
    """Return the account that a list made now pays to, and whether another one waits."""
    journal = book.journal()
    made_now = payment_list(book, journal, kept_settings(journal), "2026", DAY, ("bank",))
    (payee,) = (one for one in made_now.payees if one.member_no == ASHA)
    return payee.account, ASHA in [one["member_no"] for one in made_now.accounts_waiting]


def not_paid(book: Book) -> str:
    """Return why no list made now pays the member."""
    journal = book.journal()
    made_now = payment_list(book, journal, kept_settings(journal), "2026", DAY, ("bank",))
    assert ASHA not in [one.member_no for one in made_now.payees]
    (why,) = (one["why"] for one in made_now.left_out if one["member_no"] == ASHA)
    return why


def register(book: Book) -> tuple[str, str]:
    """Return the village of the member's last row, and that row's state."""
    with connect(str(must_have(book, "2026"))) as con:
        text = "select village, cast(state as varchar) from members where member_no = ? "
        return rows(con, text + "order by sheet_no desc limit 1", [ASHA])[0]


def agree(book: Book, action: str = "count") -> None:
    decide(book, changed(book).short, action, because="asked at home", by="manager", at=AT)


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """A book with a member who is paid by bank; the register's first row names no account."""
    book = made(tmp_path / "book", SETTINGS)
    taken(
        book,
        *registers(tmp_path),
        sheet(tmp_path, "w_2026-W19.csv", "weighings", [{}]),
        sheet(tmp_path, "p_2026-W19.csv", "payments", [{"method": "bank", "amount": "1.00"}]),
    )
    return book


@pytest.fixture
def banked(tmp_path: Path) -> Book:
    """The same, but the account came with the member's first row of the register."""
    book = made(tmp_path / "book", SETTINGS)
    first = sheet(tmp_path, "members_first.csv", "members", [{"account": FIRST}])
    taken(book, first)
    taken(
        book,
        *registers(tmp_path),
        sheet(tmp_path, "w_2026-W19.csv", "weighings", [{}]),
        sheet(tmp_path, "p_2026-W19.csv", "payments", [{"method": "bank", "amount": "1.00"}]),
    )
    return book


def test_an_account_of_the_first_row_is_paid_to_and_the_same_in_other_spaces_is_none_new(
    banked: Book, tmp_path: Path
) -> None:
    assert asked(banked) == []
    assert paid_to(banked) == (FIRST, False)
    account(banked, tmp_path, "b", FIRST.replace(" ", ""))
    assert asked(banked) == []
    assert paid_to(banked) == (FIRST, False)


def test_a_first_account_that_comes_later_is_paid_to_once_somebody_else_agrees(
    book: Book, tmp_path: Path
) -> None:
    assert not_paid(book) == "no account in the register"
    account(book, tmp_path, "a", FIRST)
    flag = changed(book)
    assert flag.rule == "account-given-later"
    assert "it ends in 231" in flag.say
    assert FIRST not in f"{flag.place} {flag.value} {flag.say} {flag.do}"
    assert not_paid(book) == "no account in the register that was agreed to"
    with pytest.raises(DecisionError, match="Somebody else agrees"):
        decide(book, flag.short, "count", because="I asked", by=BY, at=AT)
    agree(book)
    assert paid_to(book) == (FIRST, False)
    # Left out instead: there is no account then, and nothing waits any more.
    agree(book, "leave-out")
    assert not_paid(book) == "no account in the register"
    assert register(book)[1] == "counted"


@pytest.mark.long
def test_payments_go_to_the_earlier_account_until_somebody_else_agrees(
    banked: Book, tmp_path: Path
) -> None:
    account(banked, tmp_path, "c", SECOND)
    flag = changed(banked)
    assert flag.rule == "account-changed"
    assert flag.say.startswith(
        "Another account than before: it ends in 111, and the earlier in 231"
    )
    assert SECOND not in f"{flag.place} {flag.value} {flag.say} {flag.do}"
    assert paid_to(banked) == (FIRST, True)
    # A second unagreed change does not make the first one good.
    account(banked, tmp_path, "d", THIRD)
    assert paid_to(banked) == (FIRST, True)
    with pytest.raises(DecisionError, match="Somebody else agrees"):
        decide(banked, changed(banked).short, "count", because="I asked", by=BY, at=AT)
    number = changed(banked).short
    agree(banked)
    assert paid_to(banked) == (THIRD, False)
    # The next sheet says the same: what was agreed stands, and does after a rebuild.
    account(banked, tmp_path, "e", THIRD)
    assert asked(banked) == []
    assert paid_to(banked) == (THIRD, False)
    rebuild(banked)
    assert paid_to(banked) == (THIRD, False)
    take_back(banked, number, because="it was another member", by="manager", at=AT)
    assert changed(banked).decision == ""
    assert paid_to(banked) == (FIRST, True)


def test_left_out_the_earlier_account_stands_and_the_rest_of_the_row_counts(
    banked: Book, tmp_path: Path
) -> None:
    moved = {"account": SECOND, "village": "Upper Tarrin"}
    taken(banked, sheet(tmp_path, "members_c.csv", "members", [moved]))
    agree(banked, "leave-out")
    assert register(banked) == ("Upper Tarrin", "counted")
    assert paid_to(banked) == (FIRST, False)
    # It stays so while sheets say the same again, and is asked anew for another one.
    account(banked, tmp_path, "d", SECOND)
    assert changed(banked).decision == "leave-out"
    assert paid_to(banked) == (FIRST, False)
    account(banked, tmp_path, "e", THIRD)
    assert changed(banked).decision == ""
    assert paid_to(banked) == (FIRST, True)


def test_an_account_that_was_given_up_is_asked_about_again_where_it_comes_back(
    banked: Book, tmp_path: Path
) -> None:
    account(banked, tmp_path, "c", SECOND)
    agree(banked)
    account(banked, tmp_path, "d", FIRST)
    assert changed(banked).decision == ""
    assert paid_to(banked) == (SECOND, True)
    agree(banked)
    assert paid_to(banked) == (FIRST, False)
    # Once agreed to, and given up since: that answer does not hold for today's sheet.
    account(banked, tmp_path, "e", SECOND)
    assert changed(banked).decision == ""
    assert paid_to(banked) == (FIRST, True)


def test_an_account_back_to_what_was_agreed_needs_nobody(banked: Book, tmp_path: Path) -> None:
    account(banked, tmp_path, "c", SECOND)
    account(banked, tmp_path, "d", FIRST)
    assert asked(banked) == []
    assert paid_to(banked) == (FIRST, False)


def test_an_amendment_by_two_is_agreed_to(banked: Book, tmp_path: Path) -> None:
    account(banked, tmp_path, "c", SECOND)
    decide(
        banked,
        changed(banked).short,
        "amend",
        value=THIRD,
        because="the member's own book",
        by="manager",
        second="treasurer",
        at=AT,
    )
    assert asked(banked) == []
    assert paid_to(banked) == (THIRD, False)


def test_a_sheet_without_account_changes_none(banked: Book, tmp_path: Path) -> None:
    taken(banked, sheet(tmp_path, "members_c.csv", "members", [{"village": "Upper Tarrin"}]))
    assert asked(banked) == []
    assert register(banked)[0] == "Upper Tarrin"
    assert paid_to(banked) == (FIRST, False)


def test_mobile_money_goes_to_the_telephone_of_who_gave_no_account(
    tmp_path: Path,
) -> None:
    book = made(tmp_path / "book", SETTINGS)
    row = {"member_no": ASHA, "name": "Asha Doreme", "phone": "+1 555 0100"}
    paid = {"payment_no": "P-1", "amount": "1.00", "method": "mobile money"}
    taken(
        book,
        *registers(tmp_path)[1:],
        sheet(tmp_path, "members.csv", "members", [row]),
        sheet(tmp_path, "kes_2026-W19.csv", "weighings", [{}]),
        sheet(tmp_path, "pay_2026-W19.csv", "payments", [paid]),
    )
    journal = book.journal()
    listed = payment_list(book, journal, kept_settings(journal), "2026", DAY, ("mobile",))
    assert [(one.member_no, one.account) for one in listed.payees] == [(ASHA, "+1 555 0100")]
