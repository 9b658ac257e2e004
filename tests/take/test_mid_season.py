"""A book that begins in mid-season: what was owed, and the season so far, in one sheet each."""

from decimal import Decimal
from pathlib import Path

import pdfplumber

from pipeline.book.book import Book
from pipeline.explain.why import explain_figure
from pipeline.issue import issue
from pipeline.verify import verify
from tests.take.small import ASHA, BEMI, ask, sheet, taken


def begun(book: Book, folder: Path) -> None:
    """Bring balances of two members, one's season so far, a weighing of 60 kg and a payment."""
    taken(
        book,
        sheet(
            folder,
            "opening.csv",
            "opening_balances",
            [
                {
                    "member_no": ASHA,
                    "balance_of": "owed to member",
                    "day": "2026-05-03",
                    "amount": "12.50",
                },
                {"member_no": ASHA, "balance_of": "loan", "day": "2026-05-03", "amount": "40.00"},
                {"member_no": BEMI, "balance_of": "shares", "day": "2026-05-03", "amount": "25.00"},
            ],
        ),
        sheet(
            folder,
            "so_far.csv",
            "season_so_far",
            [
                {
                    "member_no": ASHA,
                    "species": "arabica",
                    "form": "fresh cherry",
                    "day": "2026-05-02",
                    "receipts": "6",
                    "net_kg": "412.5",
                    "value": "255.75",
                    "deducted": "15.92",
                    "paid": "200.00",
                }
            ],
        ),
        sheet(folder, "weighings_KES_2026-W19.csv", "weighings", [{}]),
    )


def test_balances_and_the_season_so_far_are_carried_on(book: Book, tmp_path: Path) -> None:
    begun(book, tmp_path)
    # By hand: 60.0 kg x 1.0000 = 60.00, levy 3 % = 1.80; the loan and the shares stand apart.
    assert ask(
        book,
        "select opening_minor, deliveries, value_minor, deducted_minor, paid_minor, balance_minor "
        "from member_season where member_no = ?",
        ASHA,
    ) == [(1250, 7, 31575, 1772, 20000, 11053)]
    # 412.5 kg fresh cherry by 6, and 60 kg parchment times 0.8.
    gbe = "select gbe_kg from member_season where member_no = ?"
    assert ask(book, gbe, ASHA) == [(Decimal("116.750"),)]
    assert ask(book, "select balance_minor from member_season where member_no = ?", BEMI) == [(0,)]
    assert verify(book)["ok"]


def test_every_figure_carried_on_has_its_why(book: Book, tmp_path: Path) -> None:
    begun(book, tmp_path)
    balance = explain_figure(book, f"2026/{ASHA}/balance")
    assert [(part["sign"], part["value"]) for part in balance["parts"]] == [
        ("+", "12.50"),
        ("+", "315.75"),
        ("-", "17.72"),
        ("-", "200.00"),
    ]
    for name, cells in (
        ("opening", ["12.50"]),
        ("value", ["255.75", "60.0"]),
        ("deducted/before", ["15.92"]),
        ("paid", ["200.00"]),
        ("gbe", ["412.5", "60.0"]),
        ("loan", ["40.00"]),
    ):
        found = explain_figure(book, f"2026/{ASHA}/{name}")
        assert sorted(row["cell"] for row in found["rows"]) == sorted(cells), name
        assert sum(float(row["amount"]) for row in found["rows"]) == float(found["value"]), name


def test_the_statement_shows_what_was_carried_on(book: Book, tmp_path: Path) -> None:
    begun(book, tmp_path)
    done = issue(book, "2026", by="clerk")
    page = next(done.folder.glob(f"statements/*/{ASHA}.html")).read_text("utf-8")
    for words in ("Owed to you from before", "12.50", "Held back before this book began", "110.53"):
        assert words in page
    # Bemi's shares and Asha's loan stand on their own statements and in no balance.
    assert "Loan that you owe" in page and f"2026/{ASHA}/loan" in page
    assert "40.00" in page and "paid-up shares" not in page
    page = next(done.folder.glob(f"statements/*/{BEMI}.html")).read_text("utf-8")
    assert "Your paid-up shares" in page and "25.00" in page
    made = next(done.folder.glob(f"statements/*/{ASHA}.pdf"))
    with pdfplumber.open(made) as document:
        text = "".join(page.extract_text() for page in document.pages)
    assert "Loan that you owe" in text and "40.00" in text
    report = (done.folder / "group" / "group_report.html").read_text("utf-8")
    assert "Owed to members from before" in report
