"""The ledger as plain-text double entry, so that another program can balance it."""

import re
from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal
from typing import Any

from pipeline.book.book import Book, kept_settings
from pipeline.season.generations import must_have
from pipeline.season.tables import connect, rows
from pipeline.settings import Settings

_OTHERS = {
    "opening": "Equity:Opening",
    "coffee": "Expenses:Coffee",
    "second": "Expenses:Second-Payment",
    "adjustment": "Equity:Corrections",
    "moved": "Equity:Moved",
    "unclaimed": "Liabilities:Unclaimed",
    "cash": "Assets:Cash",
    "bank": "Assets:Bank",
    "mobile": "Assets:Mobile-Money",
    "before": "Equity:Before-The-Book",
}


def ledger_text(book: Book, season: str) -> Iterator[str]:
    """Return the lines of a season's ledger in Beancount's syntax, with a balance of each member.

    Each movement debits the account it comes from and credits the one it goes to. The balances that
    statements print are asserted after the last day: a program that reads it must find them so.
    """
    settings = kept_settings(book.journal())
    days = settings.season(season)
    with connect(str(must_have(book, season))) as con:
        takes = dict(rows(con, "select deduction, takes from deductions"))
        moves = rows(
            con,
            "select t.day, t.what, t.from_account, t.to_account, t.member_no, t.amount_minor, "
            "s.name, t.row_no from transfers as t "
            "inner join sheets as s on s.sheet_no = t.sheet_no "
            "order by t.day, t.kind, t.sheet_no, t.row_no, t.what, t.to_account, t.member_no",
        )
        owed = rows(
            con,
            "select member_no, balance_minor, loan_minor, shares_minor from member_season "
            "order by member_no",
        )
    opened: set[str] = set()
    first = min([days.first_day, *(move[0] for move in moves)])
    for day, what, debit, credit, member, minor, sheet, row in moves:
        accounts = [_account(name, member, takes) for name in (debit, credit)]
        for account in accounts:
            if account not in opened:
                opened.add(account)
                yield f"{first} open {account} {settings.currency}"
        amount = _amount(minor, settings)
        said = f"{what} {member}, {sheet} row {row}".replace('"', "'").replace("\\", "/")
        yield f'{day} * "{said}"'
        yield f"  {accounts[0]}  {amount}"
        yield f"  {accounts[1]}  {_amount(-minor, settings)}"
    after = max([days.last_day, *(move[0] for move in moves)]) + timedelta(days=1)
    for member, balance, loan, shares in owed:
        for account, minor in (
            ("member", -balance),
            ("loan", loan),
            ("shares", -shares),
        ):
            named = _account(account, member, takes)
            if named in opened or minor:
                number, currency = _amount(minor, settings).split()
                # To the smallest coin: no tolerance.
                yield f"{after} balance {named}  {number} ~ 0 {currency}"


def _amount(minor: int, settings: Settings) -> str:
    return f"{Decimal(minor).scaleb(-settings.decimals):.{settings.decimals}f} {settings.currency}"


def _account(name: str, member: str, takes: dict[str, Any]) -> str:
    kind, _, code = name.partition(":")
    own = "M" + re.sub(r"[^A-Za-z0-9-]", "-", member)
    if kind == "deduction":
        name = {"credit": "loan", "shares": "shares"}.get(takes.get(code, ""), name)
    if name == "member":
        return f"Liabilities:Members:{own}"
    if name == "loan":
        return f"Assets:Loans:{own}"
    if name == "shares":
        return f"Equity:Shares:{own}"
    if name in _OTHERS:
        return _OTHERS[name]
    under = {"deduction": "Income:Deductions", "premium": "Expenses:Premiums"}
    part = re.sub(r"[^A-Za-z0-9-]", "-", code) or "Other"
    return f"{under.get(kind, 'Assets:Given-On-Credit')}:X{part}"
