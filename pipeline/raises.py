"""What takes a second person: amendments that raise an amount or change where money goes, and an
account that a later sheet gives.
"""

import unicodedata
from collections.abc import Sequence

from pipeline.book.book import Book
from pipeline.book.journal import Journal
from pipeline.declared import MONEY_ROLES
from pipeline.doubtful import Doubt, read_for, stored_now
from pipeline.errors import DecisionError, PostingError
from pipeline.intake.headings import INVISIBLE
from pipeline.season.kept_sheets import kept_sheets
from pipeline.settings import Settings

# Columns whose amendment may raise what is paid, and which way: 1 where a higher value does.
RAISES = {
    ("weighings", "gross_kg"): 1,
    ("weighings", "net_kg"): 1,
    ("weighings", "tare_kg"): -1,
    ("prices", "price_per_kg"): 1,
    ("payments", "amount"): -1,
    ("credit", "amount"): -1,
    ("money_entries", "amount"): 1,
    ("opening_balances", "amount"): 1,
    ("second_payments", "amount"): 1,
    ("season_so_far", "net_kg"): 1,
}
# Where money goes to: any change of these is somebody else's to look at too.
ACCOUNTS = (("members", "account"), ("members", "account_at"), ("members", "phone"))

# The rules on an account that a later sheet gives: payments go to the earlier one until agreed, or
# where there is none to no account.
ACCOUNT_RULES = ("account-changed", "account-given-later")


def raising(book: Book, settings: Settings, doubts: Sequence[Doubt], value: str) -> list[Doubt]:
    """Return those of some flags whose amendment takes a second person."""
    return [doubt for doubt in doubts if _raises(book, settings, doubt, value)]


def refuse_alone(settings: Settings, by: str, second: str) -> None:
    """Refuse what one person would post alone: PostingError names who is needed.

    Where book.toml names people, both must be among them with a role that may post money.
    """
    one, other = by.strip(), second.strip()
    if not _as_read(other):
        raise PostingError("Money is posted by two people. Name the second one with --second.")
    if same_name(one, other):
        raise PostingError(f"{one} cannot be the second person too. Name another with --second.")
    may = {p.name for p in settings.people if set(p.roles) & set(MONEY_ROLES)}
    for name in (one, other):
        if settings.people and name not in may:
            raise PostingError(
                f"{name} may not post money: book.toml names {', '.join(sorted(may)) or 'nobody'} "
                f"with one of the roles {', '.join(MONEY_ROLES)}."
            )


def same_name(one: str, other: str) -> bool:
    """Tell whether two names read alike: capitals, spaces and how letters are encoded apart.

    "Ana  Ruíz" is "ana ruíz", with one space or two, and the accent as a character of its own.
    """
    return _as_read(one) == _as_read(other)


def _as_read(name: str) -> str:
    plain = unicodedata.normalize("NFKC", INVISIBLE.sub("", name))
    return " ".join(plain.split()).casefold()


def refuse_raising_alone(
    book: Book, settings: Settings, doubts: Sequence[Doubt], value: str, by: str, second: str
) -> None:
    """Refuse an amendment that raises an amount or changes an account and that one makes alone.

    DecisionError where nobody else is named, PostingError where the two may not do it together.
    """
    found = raising(book, settings, doubts, value)
    if found and not second.strip():
        raise DecisionError(
            f"{found[0].flag.place}: this amendment raises an amount or changes where money goes, "
            "so it takes a second person. Name who agrees with --second, or put it forward at the "
            "desk, where another signs it."
        )
    if found:
        refuse_alone(settings, by, second)


def refuse_sender(journal: Journal, settings: Settings, doubt: Doubt, by: str) -> None:
    """Refuse that whoever sent a sheet agrees to the account that it gives.

    DecisionError for the sender, and for somebody without a role that may post money.
    """
    sent = next(one for one in kept_sheets(journal) if one.sheet_no == doubt.flag.sheet_no)
    sender = str(journal.lines[sent.line_n - 1].body["by"])
    if same_name(sender, by):
        raise DecisionError(
            f"{doubt.flag.place}: {by} sent this sheet. Somebody else agrees to the account."
        )
    may = [person.name for person in settings.people if set(person.roles) & set(MONEY_ROLES)]
    if settings.people and by.strip().casefold() not in {name.casefold() for name in may}:
        raise DecisionError(
            f"{by} may not agree to an account: book.toml names "
            f"{', '.join(sorted(may)) or 'nobody'} with one of the roles {', '.join(MONEY_ROLES)}."
        )


def _raises(book: Book, settings: Settings, doubt: Doubt, value: str) -> bool:
    column = (doubt.flag.kind, doubt.flag.col)
    if column in ACCOUNTS:
        return True
    if column not in RAISES:
        return False
    after = read_for(book, doubt, value, settings).value
    if after is None:
        return False
    # What could not be read counts for nothing until now: any value raises it.
    before = stored_now(book, doubt)
    return before is None or (after - before) * RAISES[column] > 0
