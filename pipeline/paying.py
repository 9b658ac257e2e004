"""Payment lists: who is paid how much and how, what is carried, and lists that are still out."""

import csv
import hashlib
import io
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any

import duckdb

from pipeline.book.book import Book, note_settings, now, write_whole, writing
from pipeline.book.journal import Journal, append
from pipeline.coop import coop_facts
from pipeline.errors import DocumentError, PostingError
from pipeline.money import money_text
from pipeline.pain import pain_001
from pipeline.payees import Payee, PaymentList, creditor_reference
from pipeline.posting import sheet_text
from pipeline.raises import refuse_alone
from pipeline.season.generations import must_have
from pipeline.season.tables import connect, dicts, rows, season_sql
from pipeline.settings import Settings
from pipeline.upkeep import bring_up_to_date
from reports.facts import ReportError
from reports.papers import pay_sheet

METHODS = ("cash", "bank", "mobile")


def payment_list(
    book: Book, journal: Journal, settings: Settings, season: str, day: date, methods: Sequence[str]
) -> PaymentList:
    """Work out what is to be paid now: balances, less what lists that are still out will pay.

    Cash is rounded down to the smallest coin or note, and the rest stays owed.
    """
    number = 1 + sum(line.what == "listed" for line in journal.lines)
    with connect(str(must_have(book, season))) as con:
        out = _still_out(journal, season, con)
        return list_in(con, settings, season, day, methods, number=number, out=out)


def list_in(
    con: duckdb.DuckDBPyConnection,
    settings: Settings,
    season: str,
    day: date,
    methods: Sequence[str] = METHODS,
    *,
    number: int,
    out: Mapping[str, int],
) -> PaymentList:
    """Work a payment list out from an open season; `out`: what other lists will still pay."""
    list_no = f"PL-{season}-{number}"
    payees: list[Payee] = []
    left_out: list[dict[str, str]] = []
    accounts: list[dict[str, str]] = []
    for row in dicts(con, season_sql("to_pay")):
        due = row["balance_minor"] - out.get(row["member_no"], 0)
        why = _why_not(row, due, settings, methods)
        if due <= 0 and not out.get(row["member_no"]):
            continue
        if why:
            left_out.append({"member_no": row["member_no"], "name": row["name"], "why": why})
            continue
        coin = settings.paying.coin_minor if row["method"] == "cash" else 1
        amount = due // coin * coin
        if row["account_waits"] and row["method"] != "cash":
            accounts.append({"member_no": row["member_no"], "name": row["name"]})
        place = f"{len(payees) + 1:05d}"
        payees.append(
            Payee(
                payment_no=f"{list_no}-{place}",
                member_no=row["member_no"],
                name=row["name"],
                station=row["station"],
                village=row["village"],
                method=row["method"],
                account=_paid_to(row),
                account_at=row["account_at"] or "",
                amount_minor=amount,
                carried_minor=due - amount,
                # Of list and place alone: with season and member it could be too long.
                reference=creditor_reference(f"PL{number}N{place}"),
            )
        )
    return PaymentList(
        list_no=list_no,
        season=season,
        day=day,
        payees=tuple(payees),
        left_out=tuple(left_out),
        accounts_waiting=tuple(accounts),
    )


def _paid_to(row: dict[str, Any]) -> str:
    """Return the account that is paid to: of mobile money the telephone, where none is given."""
    return row["account"] or (row["phone"] if row["method"] == "mobile" else "") or ""


def _why_not(row: dict[str, Any], due: int, settings: Settings, methods: Sequence[str]) -> str:
    """Say why a member to whom something is owed is not on the list, or nothing."""
    coin = settings.paying.coin_minor if row["method"] == "cash" else 1
    if due <= 0:
        return "a list that is still out pays it"
    if row["method"] not in methods:
        return f"paid by {row['method']}"
    if row["left_on"] is not None:
        heirs = f"; heirs named: {row['heirs']}" if row["heirs"] else ""
        return f"left on {row['left_on']}: paid when it is claimed{heirs}"
    agreed = " that was agreed to" if row["account_waits"] else ""
    if row["method"] == "bank" and not row["account"]:
        return f"no account in the register{agreed}"
    if row["method"] == "mobile" and not (row["account"] or row["phone"]):
        return f"no telephone and no account in the register{agreed}"
    if due < max(settings.paying.least_minor, coin):
        return "less than the least payment; it stays owed"
    return ""


def lists_out(journal: Journal, season: str, *seasons: Any) -> dict[str, tuple[str, str, int]]:
    """Return what a season's lists will still pay, by payment number: list, member, amount.

    A payment is settled where it counts or was left out in one of `seasons`, connections to season
    files. One that waits or went back may have been paid, so that its list is still out.
    """
    withdrawn = {line.body["list"] for line in journal.lines if line.what == "list-withdrawn"}
    settled = {
        no
        for con in seasons
        for (no,) in rows(
            con, "select payment_no from payments where state in ('counted', 'left_out')"
        )
    }
    return {
        no: (line.body["list"], member, amount)
        for line in journal.lines
        if line.what == "listed" and line.body["season"] == season
        if line.body["list"] not in withdrawn
        for no, (member, amount) in line.body["payments"].items()
        if no not in settled
    }


def _still_out(journal: Journal, season: str, con: Any) -> dict[str, int]:
    """Return what lists that are still out will pay each member."""
    found: dict[str, int] = {}
    for _, member, amount in lists_out(journal, season, con).values():
        found[member] = found.get(member, 0) + amount
    return found


def make_list(
    book: Book,
    season: str,
    *,
    by: str,
    second: str,
    day: date | None = None,
    methods: Sequence[str] = METHODS,
    seen: str = "",
    at: str = "",
) -> tuple[PaymentList, Path]:
    """Write a payment list and its files into the book, in the name of two people.

    `seen`: the digest of the list that was looked at. PostingError where one person would do it
    alone, where nobody is to be paid, or where another list would be made than was seen.
    """
    at = at or now()
    day = day or date.fromisoformat(at[:10])
    with writing(book):
        journal, settings = note_settings(book, book.journal(), at)
        refuse_alone(settings, by, second)
        bring_up_to_date(book, journal, settings)
        made = payment_list(book, journal, settings, season, day, methods)
        if not made.payees:
            raise PostingError("Nothing is owed that can be paid now: there is no list to make.")
        if seen and made.digest != seen:
            raise PostingError(
                "The list is another one than you looked at: a sheet or a decision came in since. "
                "No list is made. Look again, then sign."
            )
        folder = book.path / "payments" / made.list_no
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True)
        files = list_files(made, settings, at)
        for name, content in files.items():
            write_whole(folder / name, content)
        body = {
            "season": season,
            "list": made.list_no,
            "count": len(made.payees),
            "sum_minor": made.sum_minor,
            "payments": {p.payment_no: [p.member_no, p.amount_minor] for p in made.payees},
            "files": {n: hashlib.sha256(content).hexdigest() for n, content in files.items()},
            "by": by.strip(),
            "second": second.strip(),
        }
        append(journal, "listed", body, at)
        return made, folder


def list_files(made: PaymentList, settings: Settings, at: str) -> dict[str, bytes]:
    """Return the files of a list by name: for people, for the bank, and to take in once paid."""
    files = {
        "payment_list.csv": _for_people(made, settings.decimals),
        "payments_once_paid.csv": sheet_text(
            "payments", [_once_paid(made, payee, settings.decimals) for payee in made.payees]
        ),
    }
    in_cash = [asdict(payee) for payee in made.payees if payee.method == "cash"]
    if in_cash:
        facts = coop_facts(settings, made.season)
        try:
            files["pay_sheet.pdf"] = pay_sheet(facts, made.list_no, made.day, in_cash)
        except ReportError as error:
            raise DocumentError(str(error)) from None
    banked = [payee for payee in made.payees if payee.method == "bank"]
    if banked and settings.paying.account:
        files["pain001.xml"] = pain_001(made.list_no, made.day, banked, settings, at)
    return files


def _once_paid(made: PaymentList, payee: Payee, decimals: int) -> dict[str, str]:
    return {
        "payment_no": payee.payment_no,
        "day": str(made.day),
        "member_no": payee.member_no,
        "amount": money_text(payee.amount_minor, decimals).replace(",", ""),
        "method": payee.method,
        "reference": payee.reference,
    }


def _for_people(made: PaymentList, decimals: int) -> bytes:
    """Return the list as CSV with its count and control sum in the last line."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    names = [name for name in asdict(made.payees[0]) if not name.endswith("_minor")]
    writer.writerow([*names, "amount", "carried"])
    for payee in made.payees:
        cells = [_plain(str(getattr(payee, name))) for name in names]
        sums = (payee.amount_minor, payee.carried_minor)
        writer.writerow([*cells, *(money_text(one, decimals).replace(",", "") for one in sums)])
    total = money_text(made.sum_minor, decimals).replace(",", "")
    writer.writerow([f"{len(made.payees)} payments", *[""] * (len(names) - 1), total, ""])
    return text.getvalue().encode()


def _plain(cell: str) -> str:
    """Keep a spreadsheet from taking a text for a formula."""
    return f"'{cell}" if cell[:1] in ("=", "+", "-", "@", "\t", "\r") else cell


def withdraw_list(
    book: Book, list_no: str, *, by: str, second: str, because: str, at: str = ""
) -> None:
    """Note that a list will not be paid, so that what it would have paid can be listed again."""
    at = at or now()
    if not because.strip():
        raise PostingError("A withdrawal needs a reason. Say why with --because.")
    with writing(book):
        journal, settings = note_settings(book, book.journal(), at)
        refuse_alone(settings, by, second)
        listed = {line.body["list"] for line in journal.lines if line.what == "listed"}
        gone = {line.body["list"] for line in journal.lines if line.what == "list-withdrawn"}
        if list_no not in listed - gone:
            raise PostingError(f"There is no payment list {list_no} that is still out.")
        body = {"list": list_no, "by": by, "second": second, "because": because.strip()}
        append(journal, "list-withdrawn", body, at)
