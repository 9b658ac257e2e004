"""A season of one member worked by hand, every kind of entry in it.

Sums are shown beside each line, to be checked with a pocket calculator. All figures are invented.
"""

from datetime import date
from pathlib import Path

from pipeline.book.book import Book
from pipeline.taken import Taken
from tests.take.small import ASHA, BEMI, SETTINGS, made, sheet, taken

LIO, ANA = "Lio Tessan", "Ana Brel"

MONEY = (
    SETTINGS.partition("[[deduction]]")[0]
    + f"""
[[season]]
code = "2027"
first_day = 2027-03-30
last_day = 2027-10-04

[[person]]
name = "{LIO}"
roles = ["treasurer"]

[[person]]
name = "{ANA}"
roles = ["manager"]

[[person]]
name = "Ibo Marren"
roles = ["clerk"]

[paying]
cash_coin = "0.05"
payer = "Lower Tarrin Growers' Cooperative"
account = "00 7710 0042"

[voting]
least_shares = 1
least_kg = "10"
days = 90
authority = "Article 12"

[[premium]]
code = "ripe"
name = "Ripe cherry premium"
authority = "General meeting, resolution 6"
form = "fresh_cherry"
per_kg = "0.05"
ripe_from = "95"

[[discount]]
code = "damp"
name = "Damp parchment"
authority = "General meeting, resolution 7"
form = "parchment"
percent = "2"
moisture_above = "12.5"

[[deduction]]
code = "levy"
name = "Cooperative levy"
authority = "General meeting, resolution 3"
percent = "3"

[[deduction]]
code = "transport"
name = "Transport"
authority = "General meeting, resolution 5"
form = "fresh_cherry"
per_kg = "0.02"

[[deduction]]
code = "shares"
name = "Share contribution"
authority = "Statutes, article 9"
takes = "shares"
percent = "10"
until = "12.00"

[[deduction]]
code = "inputs"
name = "Inputs on credit"
authority = "General meeting, resolution 8"
takes = "credit"
keep_percent = "60"

[[deduction]]
code = "charges"
name = "One-off charges"
authority = "as each charge names it"
takes = "charges"
keep_percent = "50"
"""
)

PLAN = """
[resolution]
no = "AGM-7"
day = 2026-06-20
owed_from = 2026-06-22

[eligible]
member_on = 2026-06-20
least_kg = "0"

[[pool]]
code = "PARCHMENT"
form = "parchment"
proceeds = "300.00"
last_season_stock = "5.00"
finance_interest = "2.50"
premiums_apart = "0.00"
unsold_kg = "12.5"
unsold_price_per_kg = "2.0050"
rate_per_kg = "0.1250"

[[pool.cost]]
name = "Milling"
amount = "20.00"
"""


def season(folder: Path) -> Book:
    """The book of the season, all its sheets taken."""
    book = made(folder / "book", MONEY)
    for each in results(folder, book):
        assert each.counted == each.arrived, each
    return book


def results(folder: Path, book: Book) -> list[Taken]:
    cherry = {"form": "fresh cherry", "moisture_pct": "", "receipt_book": "K01"}
    members = [
        {"member_no": ASHA, "shares": "2", "account": "00 4410 2231"},
        {"member_no": BEMI, "name": "Bemi Sor", "shares": "0"},
    ]
    prices = [
        {"form": "fresh cherry", "price_per_kg": "0.6000"},
        {"form": "parchment", "price_per_kg": "3.0000", "moisture_up_to": "12.5"}
        | {"standard_moisture_pct": "12"},
        {"form": "parchment", "price_per_kg": "2.9000", "moisture_above": "12.5"}
        | {"standard_moisture_pct": "12"},
        # A list that changes in mid-week: Wednesday 6 May.
        {"form": "fresh cherry", "price_per_kg": "0.6500", "from_day": "2026-05-06"},
    ]
    opening = [
        {"member_no": ASHA, "day": "2026-03-30", "balance_of": "owed to member", "amount": "4.00"},
        {"member_no": ASHA, "day": "2026-03-30", "balance_of": "loan", "amount": "6.00"},
        {"member_no": ASHA, "day": "2026-03-30", "balance_of": "shares", "amount": "5.00"},
    ]
    weighed = [
        cherry | {"receipt_no": "1", "day": "2026-05-04", "ripe_pct": "96"}
        | {"gross_kg": "41.2", "tare_kg": "1.2", "net_kg": "40.0"},
        cherry | {"receipt_no": "2", "day": "2026-05-07", "ripe_pct": "90"}
        | {"gross_kg": "31.2", "tare_kg": "1.2", "net_kg": "30.0"},
        {"receipt_no": "3", "day": "2026-05-08", "moisture_pct": "13"}
        | {"gross_kg": "21.2", "tare_kg": "1.2", "net_kg": "20.0"},
    ]  # fmt: skip
    credit = [
        {"note_no": "IN-1", "line": "1", "day": "2026-05-05", "member_no": ASHA}
        | {"credit_kind": "inputs", "item": "compost", "amount": "10.00", "charge": "1.00"}
        | {"authority": "Board, 4 May 2026", "signed": "yes", "station": "KES"}
        | {"recorder": "Ibo Marren"}
    ]
    entry = {"member_no": ASHA, "reason": "agreed", "authority": "Board, 9 May 2026"}
    entries = [
        entry | {"entry_no": "J-1", "day": "2026-05-08", "entry": "charge", "amount": "30.00"},
        entry | {"entry_no": "J-2", "day": "2026-05-11", "entry": "correction up"}
        | {"amount": "1.15", "corrects": "2025-10010-1"},
        entry | {"entry_no": "J-3", "day": "2026-05-11", "entry": "correction down"}
        | {"amount": "0.40", "corrects": "2025-10010-1"},
        entry | {"entry_no": "J-4", "day": "2026-05-13", "entry": "payment returned"}
        | {"amount": "10.00", "corrects": "P-2"},
        entry | {"entry_no": "J-5", "day": "2026-05-14", "entry": "moved"}
        | {"amount": "3.00", "other_member": BEMI},
        entry | {"entry_no": "J-6", "day": "2026-05-06", "entry": "repayment", "amount": "2.00"},
    ]  # fmt: skip
    payments = [
        {"payment_no": "P-1", "day": "2026-05-08", "amount": "15.00", "method": "cash"},
        {"payment_no": "P-2", "day": "2026-05-08", "amount": "10.00", "method": "bank"}
        | {"reference": "TX-2"},
    ]
    bank = [
        {"day": "2026-05-08", "channel": "cash book", "description": "voucher"}
        | {"money_out": "15.00", "payment_no": "P-1"},
        {"day": "2026-05-11", "channel": "bank", "description": "transfer"}
        | {"money_out": "10.00", "reference": "TX-2"},
        {"day": "2026-05-13", "channel": "bank", "description": "returned"}
        | {"money_in": "10.00", "member_no": ASHA},
        {"day": "2026-05-13", "channel": "bank", "description": "fees", "money_out": "0.75"},
    ]
    named: list[tuple[str, list[dict[str, str]]]] = [
        ("members", members),
        ("prices", prices),
        ("opening_balances", opening),
        ("weighings", weighed),
        ("credit", credit),
        ("money_entries", entries),
        ("payments", payments),
        ("bank_lines", bank),
    ]
    return taken(book, *(sheet(folder, f"{kind}.csv", kind, rows) for kind, rows in named))


ON = date(2026, 6, 30)
