"""One member's season worked by hand: every kind of entry, then all that follows."""

import csv
import io
import json
from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
import xmlschema
from beancount import loader
from stdnum import iso11649

from pipeline.book.book import Book, kept_settings
from pipeline.closing import close_season
from pipeline.coop import coop_facts
from pipeline.errors import PostingError
from pipeline.explain.why import explain_figure
from pipeline.issue import issue
from pipeline.ledger_text import ledger_text
from pipeline.meeting import gathered, meeting_pack, write_pack
from pipeline.pain import SPACE, schema
from pipeline.paying import make_list, withdraw_list
from pipeline.reconcile import reconcile
from pipeline.season.generations import must_have
from pipeline.season.tables import connect, rows
from pipeline.second import post_second, preview
from pipeline.verify import verify
from reports.meeting_pack import meeting_sections
from reports.statement import voice
from tests.money.by_hand import ANA, LIO, ON, PLAN, season
from tests.take.small import ASHA, BEMI, ask, sheet, taken

AT = "2026-06-30T13:00:00Z"


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    return season(tmp_path_factory.mktemp("hand"))


# Each line as a member would work it out.
WORKED = [
    # 4 May: 40.0 kg cherry x 0.60 = 24.00; 96 % ripe, so 40.0 x 0.05 = 2.00 on top.
    ("2026-05-04", "coffee", 2400),
    ("2026-05-04", "premium", 200),
    # Levy 3 % of 24.00 = 0.72; transport 40.0 x 0.02 = 0.80; shares 10 % of 24.00 = 2.40.
    ("2026-05-04", "deduction:levy", -72),
    ("2026-05-04", "deduction:transport", -80),
    ("2026-05-04", "deduction:shares", -240),
    # Loan 6.00. 26.00 - 0.72 - 0.80 - 2.40 = 22.08; 60 % of 26.00 is kept: 22.08 - 15.60 = 6.48.
    ("2026-05-04", "deduction:inputs", -600),
    # 7 May, after the list of 6 May: 30.0 x 0.65 = 19.50; 90 % ripe, no premium.
    ("2026-05-07", "coffee", 1950),
    # 3 % of 19.50 = 0.585, up to 0.59; 30.0 x 0.02 = 0.60; 10 % = 1.95.
    ("2026-05-07", "deduction:levy", -59),
    ("2026-05-07", "deduction:transport", -60),
    ("2026-05-07", "deduction:shares", -195),
    # Note IN-1: 10.00 + 1.00; 2.00 repaid in cash on 6 May leaves 9.00.
    # 19.50 - 0.59 - 0.60 - 1.95 = 16.36, less 60 % of 19.50 = 11.70, so 4.66 at most.
    ("2026-05-07", "deduction:inputs", -466),
    # 8 May: 20.0 kg at 13 %, at 12 %: 20.0 x 87 / 88 = 19.773 kg; x 2.90 = 57.3417.
    ("2026-05-08", "coffee", 5734),
    # Damp: 2 % of 57.34 = 1.1468. Levy 3 % = 1.7202.
    ("2026-05-08", "premium", -115),
    ("2026-05-08", "deduction:levy", -172),
    # Shares until 12.00: 5.00 + 2.40 + 1.95 = 9.35, so 2.65 and not 5.73.
    ("2026-05-08", "deduction:shares", -265),
    # 9.00 - 4.66 = 4.34 are left of the loan; 51.82 - 33.72 would be 18.10.
    ("2026-05-08", "deduction:inputs", -434),
    # Charge 30.00; 47.48 are left, half of 56.19 is kept: 28.095, up to 28.10; 19.38 can be taken.
    ("2026-05-08", "deduction:charges", -1938),
    ("2026-05-08", "payment", -1500),
    ("2026-05-08", "payment", -1000),
    ("2026-05-11", "adjustment", 115),
    ("2026-05-11", "adjustment", -40),
    ("2026-05-13", "payment", 1000),
    ("2026-05-14", "moved", -300),
    ("2026-03-30", "opening", 400),
]


def test_every_line_of_the_season_is_as_worked_by_hand(book: Book) -> None:
    found = ask(
        book,
        "select cast(day as varchar), "
        "case when what = 'deduction' then to_account else what end, "
        "case when to_account = 'member' then amount_minor else -amount_minor end "
        "from transfers where member_no = ? and 'member' in (from_account, to_account)",
        ASHA,
    )
    assert sorted(found) == sorted(WORKED)
    totals = ask(
        book,
        "select opening_minor, value_minor, premium_minor, other_minor, deducted_minor, "
        "paid_minor, balance_minor, loan_minor, shares_minor, untaken_minor from member_season "
        "where member_no = ?",
        ASHA,
    )
    # 24.00 + 19.50 + 57.34 = 100.84; 2.00 - 1.15 = 0.85; 1.15 - 0.40 - 3.00 = -2.25.
    # 4.00 + 100.84 + 0.85 - 2.25 - 45.81 - 15.00 = 42.63; of the charge 10.62 are still due.
    assert totals == [(400, 10084, 85, -225, 4581, 1500, 4263, 0, 1200, 1062)]
    assert ask(book, "select balance_minor from member_season where member_no = ?", BEMI) == [
        (300,)
    ]


def codes(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for key, inner in value.items():
            if key == "code" and inner:
                yield inner
            yield from codes(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from codes(inner)


def test_every_figure_of_statement_and_report_is_explained_and_its_rows_add_up(book: Book) -> None:
    done = issue(book, "2026", by=LIO, at=AT)
    pages = "".join(p.read_text("utf-8") for p in done.folder.rglob("*.html"))
    named = {
        piece.split("<")[0] for piece in pages.split('<span class="c">')[1:] if "/" in piece
    } | {f"2026/{ASHA}/{name}" for name in ("premium", "second", "other", "untaken", "loan")}
    assert {f"2026/{ASHA}/premium/ripe", f"2026/{ASHA}/entry/J-2", "2026/group/balance"} <= named
    for code in sorted(named):
        if code.endswith("/second"):
            continue
        told = explain_figure(book, code)
        if told["rows"] and "/yield/" not in code:
            added = sum(Decimal(row["amount"].replace(",", "")) for row in told["rows"])
            assert added == Decimal(told["value"].replace(",", "")), code
    loan = json.dumps(explain_figure(book, f"2026/{ASHA}/loan"))
    assert "issue note IN-1 of 2026-05-05, compost" in loan and "repaid: 11.00 of 11.00" in loan
    value = explain_figure(book, f"2026/{ASHA}/value")
    assert "19.773 kg at 12.00 % moisture (20.000 kg at 13.00 %)" in json.dumps(value)


def test_another_program_balances_the_ledger(book: Book) -> None:
    entries, errors, _ = loader.load_string("\n".join(ledger_text(book, "2026")))
    assert errors == []
    assert sum(type(entry).__name__ == "Balance" for entry in entries) >= 4
    wrong = [
        line.replace("42.63", "42.64") if "balance Liabilities" in line else line
        for line in ledger_text(book, "2026")
    ]
    assert loader.load_string("\n".join(wrong))[1]


def test_payments_agree_with_bank_and_cash_book(book: Book) -> None:
    found = reconcile(book, "2026")
    assert [(r["method"], r["why"], r["count"]) for r in found.sums] == [
        ("bank", "member, sum and days", 1),
        ("bank", "named", 1),
        ("bank", "no payment", 1),
        ("cash", "named", 1),
    ]
    (fees,) = found.open
    assert fees["line_says"] == "fees" and fees["line_minor"] == 75


def test_a_second_payment_is_shown_with_its_working_and_needs_two_people(book: Book) -> None:
    shown = preview(book, "2026", PLAN)
    (pool,), (share,) = shown.pools, shown.shares
    # 300.00 + 5.00 - 20.00 - 2.50 - (57.34 - 1.15) first paid = 226.31.
    assert pool.available_minor == 22631
    # 20.0 kg x 0.1250 = 2.50; the rest to reserve.
    assert (share.working, pool.reserve_minor) == ("20.000 kg x 0.1250 = 2.50", 22381)
    # 12.5 kg x 2.0050 = 25.0625: stated, and in no other sum.
    assert (pool.unsold_kg, pool.unsold_minor) == (Decimal("12.5"), 2506)
    for by, second, why in (
        (LIO, "", "two people"),
        (LIO, LIO, "cannot be the second"),
        (LIO, "Ibo Marren", "may not post money"),
        ("Somebody", ANA, "may not post money"),
    ):
        with pytest.raises(PostingError, match=why):
            post_second(book, "2026", PLAN, by=by, second=second, day=ON, at=AT)
    with pytest.raises(PostingError, match=r"226\.31 is left of the proceeds"):
        preview(book, "2026", PLAN.replace("0.1250", "12.0000"))
    assert ask(book, "select count(*) from second_payments") == [(0,)]


def test_a_fixed_sum_is_shared_to_the_last_coin_and_ineligible_coffee_has_none(book: Book) -> None:
    plan = PLAN.replace('rate_per_kg = "0.1250"', 'sum = "100.01"').replace(
        'form = "parchment"', 'form = "fresh_cherry"'
    )
    shown = preview(book, "2026", plan)
    assert sum(share.amount_minor for share in shown.shares) == 10001
    with pytest.raises(PostingError, match="no eligible member"):
        preview(book, "2026", plan.replace('least_kg = "0"', 'least_kg = "70.001"'))


def test_the_whole_way_from_posting_to_the_next_season(tmp_path: Path) -> None:
    """Post, pay, take back what was not paid, close, and correct in the open season."""
    book = season(tmp_path)
    post_second(book, "2026", PLAN, by=LIO, second=ANA, day=ON, at=AT)
    # 42.63 + 2.50 = 45.13.
    assert ask(book, "select balance_minor from member_season order by 1") == [(300,), (4513,)]
    with pytest.raises(PostingError, match="has its second payment already"):
        post_second(book, "2026", PLAN, by=LIO, second=ANA, day=ON, at=AT)
    told = explain_figure(book, f"2026/{ASHA}/second/PARCHMENT")
    assert f"posted by {LIO} with {ANA}" in told["rows"][0]["says"]
    made, folder = make_list(book, "2026", by=LIO, second=ANA, day=ON, at=AT)
    assert (folder / "pay_sheet.pdf").read_bytes()[:5] == b"%PDF-"
    # Asha by bank, to the cent; Bemi was never paid before: cash, 3.00 in steps of 0.05.
    assert [(p.method, p.amount_minor, p.carried_minor) for p in made.payees] == [
        ("bank", 4513, 0),
        ("cash", 300, 0),
    ]
    schema().validate(str(folder / "pain001.xml"))
    tree = ElementTree.parse(folder / "pain001.xml")
    texts = {name: [e.text for e in tree.iter(f"{{{SPACE}}}{name}")]
             for name in ("NbOfTxs", "CtrlSum", "InstdAmt", "Ref")}  # fmt: skip
    assert texts["NbOfTxs"] == ["1", "1"] and texts["CtrlSum"] == ["45.13", "45.13"]
    assert texts["InstdAmt"] == ["45.13"] and iso11649.is_valid(texts["Ref"][0] or "")
    # A list that is still out pays it: nothing is listed twice.
    with pytest.raises(PostingError, match="no list to make"):
        make_list(book, "2026", by=LIO, second=ANA, day=ON, at=AT)
    lines = list(csv.reader(io.StringIO((folder / "payment_list.csv").read_text("utf-8"))))
    assert lines[-1][0] == "2 payments" and lines[-1][-2] == "48.13"
    # Asha is paid; Bemi's line is crossed out.
    paid = (folder / "payments_once_paid.csv").read_text("utf-8").splitlines()
    once = tmp_path / "payments_2026-W27.csv"
    once.write_text("\n".join(paid[:2]) + "\n", "utf-8")
    (result,) = taken(book, once)
    assert result.counted == 1, result
    withdraw_list(book, made.list_no, by=LIO, second=ANA, because="Bemi was away", at=AT)
    close_season(book, "2026", by=LIO, second=ANA, day=date(2027, 3, 30), at=AT)
    assert _of(book, "2027") == {
        (ASHA, "charges_due"): 1062,
        (ASHA, "shares"): 1200,
        (BEMI, "owed_to_member"): 300,
    }
    # The charge keeps what allows it.
    with connect(str(must_have(book, "2027"))) as con:
        asked = "select deduction, authority from opening_balances where balance_of = 'charges_due'"
        assert rows(con, asked) == [("charges", "Board, 9 May 2026")]
    kept = "select sum(green_kg) from past_crops where state = 'counted'"
    brought = ask(book, "select sum(gbe_kg) from member_coffee")
    assert ask(book, kept) == brought and brought[0][0] > 0
    late = sheet(tmp_path, "late.csv", "weighings", [{"receipt_no": "77"}])
    (result,) = taken(book, late)
    assert (result.sent_back, result.counted) == (1, 0)
    assert ask(book, "select rule from flags where rule = 'season-closed'")
    correction = {"entry_no": "K-1", "day": "2027-04-05", "entry": "correction up"}
    correction |= {"corrects": f"2026-{ASHA}-1", "authority": "Board", "amount": "0.60"}
    correction |= {"reason": "receipt 77 was not counted", "member_no": ASHA}
    taken(book, sheet(tmp_path, "e.csv", "money_entries", [correction]), day=date(2027, 4, 6))
    told = verify(book)
    assert told["ok"], told
    assert told["promises"]["money_balances 2027"]["accounts"]["adjustment"] == -60
    pack = meeting_pack(book, "2026", date(2026, 9, 19))
    assert [row["why_not"] for row in pack.roll] == [None, "0 shares"]
    # The second payment that was posted is in it, from the plan that the journal holds.
    assert pack.posted and pack.proposed is not None
    assert [p.reserve_minor for p in pack.proposed.pools] == [22381]
    write_pack(book, pack, tmp_path / "pack.pdf")
    assert (tmp_path / "pack.pdf").read_bytes()[:5] == b"%PDF-"
    settings = kept_settings(book.journal())
    for language, reserve in (("en", "To reserve"), ("fr", "À la réserve"), ("sw", "Kwenye akiba")):
        said = voice(language, coop_facts(settings, "2026"))
        parts = meeting_sections(said, gathered(pack, settings))
        sums = {cell: row for part in parts for row in [part["table"]["sum"]] for cell in row[:1]}
        assert said.figures.money(22381) in sums[reserve]
        stock = ["PARCHMENT", said.figures.kg(Decimal("12.5"))]
        stock += [said.figures.price(Decimal("2.005")), said.figures.money(2506)]
        assert stock in [line for part in parts for line in part["table"]["rows"]]


def _of(book: Book, code: str) -> dict[tuple[str, str], int]:
    found: dict[tuple[str, str], int] = defaultdict(int)
    with connect(str(must_have(book, code))) as con:
        for no, of, amount in rows(
            con, "select member_no, balance_of, amount_minor from opening_balances"
        ):
            found[no, of] += amount
    return dict(found)


def test_the_schema_refuses_what_is_no_payment_file() -> None:
    with pytest.raises(xmlschema.XMLSchemaValidationError):
        schema().validate(f'<Document xmlns="{SPACE}"><CstmrCdtTrfInitn/></Document>')
