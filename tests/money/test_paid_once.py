"""What is owed is paid once: lists that are out, payments that wait, seasons that are closed."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from pipeline.book.book import Book, kept_settings
from pipeline.closing import close_season
from pipeline.coop import coop_facts
from pipeline.errors import PostingError
from pipeline.pain import pain_001
from pipeline.payees import Payee, creditor_reference
from pipeline.paying import make_list, withdraw_list
from pipeline.raises import refuse_alone
from pipeline.season.generations import must_have
from pipeline.season.tables import connect
from pipeline.settings import read_settings
from reports.group_parts import money
from reports.query import rows
from reports.statement import voice
from tests.take.small import ASHA, BEMI, SETTINGS, made, registers, sheet, taken

TWO = {"by": "Lio Tessan", "second": "Ana Brel"}
SEASONS = SETTINGS + '\n[[season]]\ncode = "2027"\nfirst_day = 2027-03-30\nlast_day = 2027-10-04\n'
PAID, CLOSED = "2026-05-06T12:00:00Z", "2026-10-05T12:00:00Z"


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """Two members, to each of whom 58.20 is owed."""
    book = made(tmp_path / "book", SEASONS)
    brought = [{"member_no": ASHA}, {"member_no": BEMI, "receipt_no": "2"}]
    week = sheet(tmp_path, "kes_2026-W19.csv", "weighings", brought)
    taken(book, *registers(tmp_path), week, day=date(2026, 5, 5))
    return book


def close(book: Book) -> None:
    close_season(book, "2026", at=CLOSED, **TWO)


@pytest.mark.parametrize("wrong", ["58.2x", "-58.20"])
def test_a_payment_that_waits_is_not_listed_again_and_the_season_is_not_closed(
    book: Book, tmp_path: Path, wrong: str
) -> None:
    _, folder = make_list(book, "2026", at=PAID, **TWO)
    lines = (folder / "payments_once_paid.csv").read_text("utf-8").splitlines()
    lines[2] = lines[2].replace("58.20", wrong)
    path = tmp_path / "payments_2026-W19.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    (done,) = taken(book, path, day=date(2026, 5, 6))
    assert (done.arrived, done.counted) == (2, 1)
    with pytest.raises(PostingError, match="no list to make"):
        make_list(book, "2026", at=PAID, **TWO)
    with pytest.raises(PostingError, match="1 payments of season 2026 wait or went back"):
        close(book)


def test_a_season_is_closed_once_no_list_is_out(book: Book) -> None:
    made_now, _ = make_list(book, "2026", at=PAID, **TWO)
    with pytest.raises(PostingError, match=r"PL-2026-1 is still out.* 2 of season 2026 in all"):
        close(book)
    withdraw_list(book, made_now.list_no, because="the bank was closed", at=PAID, **TWO)
    close(book)
    again, _ = make_list(book, "2027", at="2027-03-30T12:00:00Z", **TWO)
    assert [one.amount_minor for one in again.payees] == [5820, 5820]


def test_seasons_are_closed_in_their_order(book: Book, tmp_path: Path) -> None:
    later = book.settings_path.read_text("utf-8").replace("2027", "2028")
    book.settings_path.write_text(SEASONS + later[later.rindex("[[season]]") :], "utf-8")
    week = sheet(tmp_path, "kes_2027-W19.csv", "weighings", [{"day": "2027-05-10"}])
    taken(book, week, day=date(2027, 5, 11))
    with pytest.raises(PostingError, match="Season 2026 came before and is still open"):
        close_season(book, "2027", at="2027-10-05T12:00:00Z", **TWO)


def test_a_group_report_of_carried_balances_adds_up_in_every_line(book: Book) -> None:
    close(book)
    settings = kept_settings(book.journal())
    with connect(str(must_have(book, "2027"))) as con:
        (total,) = rows(con, "group_totals")
        said = voice("en", coop_facts(settings, "2027"))
        table = money(said, rows(con, "group_money"), total)
    assert len(table["rows"]) == 1 and table["sum"][3:] == table["rows"][0][3:]
    before, value, added, deducted, paid, balance = (Decimal(cell) for cell in table["sum"][3:])
    assert before > 0 and before + value + added - deducted - paid == balance


def test_a_list_that_was_paid_in_the_next_season_does_not_hold_the_closing_up(book: Book) -> None:
    day = date(2027, 4, 2)
    _, folder = make_list(book, "2026", at="2027-04-02T12:00:00Z", **TWO)
    (done,) = taken(book, folder / "payments_once_paid.csv", day=day)
    assert done.counted == 2
    close_season(book, "2026", day=day, at="2027-04-02T13:00:00Z", **TWO)
    with pytest.raises(PostingError, match="no list to make"):
        make_list(book, "2027", at="2027-04-02T14:00:00Z", **TWO)


def test_another_list_than_was_looked_at_is_not_made(book: Book, tmp_path: Path) -> None:
    seen, _ = make_list(book, "2026", at=PAID, **TWO)
    withdraw_list(book, seen.list_no, because="not yet", at=PAID, **TWO)
    # As many payments of the same sum, to other members' credit.
    moved = [{"member_no": ASHA, "receipt_no": "3"}, {"member_no": BEMI, "receipt_no": "4"}]
    moved[0] |= {"gross_kg": "31.2", "net_kg": "30.0"}
    taken(book, sheet(tmp_path, "kes_2026-W20.csv", "weighings", moved), day=date(2026, 5, 12))
    with pytest.raises(PostingError, match="another one than you looked at"):
        make_list(book, "2026", seen=seen.digest, at=PAID, **TWO)


def test_each_payment_of_a_book_has_a_reference_of_its_own(tmp_path: Path) -> None:
    long = SEASONS.replace('code = "2026"', 'code = "2026-UPPER-TARRIN-MAIN"')
    book = made(tmp_path / "book", long)
    brought = [{"member_no": ASHA}, {"member_no": BEMI, "receipt_no": "2"}]
    week = sheet(tmp_path, "kes_2026-W19.csv", "weighings", brought)
    taken(book, *registers(tmp_path), week, day=date(2026, 5, 5))
    made_now, _ = make_list(book, "2026-UPPER-TARRIN-MAIN", at=PAID, **TWO)
    assert len({one.reference for one in made_now.payees}) == 2
    with pytest.raises(ValueError, match="more than 21"):
        creditor_reference("PL-2026-UPPER-TARRIN-1-10019")


def test_an_account_that_a_payment_file_cannot_hold_is_refused_not_cut(book: Book) -> None:
    settings = kept_settings(book.journal())
    settings = replace(settings, paying=replace(settings.paying, account="00 7710 0042"))
    one = Payee(
        payment_no="PL-2026-1-00001", member_no=ASHA, name="Asha Doreme", station="KES",
        village="Lower Tarrin", method="bank", account="0" * 35, account_at="",
        amount_minor=5820, carried_minor=0, reference=creditor_reference("PL1N00001"),
    )  # fmt: skip
    with pytest.raises(PostingError, match=rf"member {ASHA}, Asha Doreme: 35 characters"):
        pain_001("PL-2026-1", date(2026, 5, 6), [one], settings, PAID)
    fits = replace(one, account="0" * 34)
    assert b"0" * 34 in pain_001("PL-2026-1", date(2026, 5, 6), [fits], settings, PAID)


@pytest.mark.parametrize(
    "second", ["ana  RUÍZ", "Ana Rui\u0301z", "Ana\u00a0Ruíz", "Ana Ruíz\u200b"]
)
def test_a_name_that_reads_alike_is_no_second_person(second: str) -> None:
    with pytest.raises(PostingError, match="cannot be the second person too"):
        refuse_alone(read_settings(SETTINGS), "Ana Ruíz", second)
