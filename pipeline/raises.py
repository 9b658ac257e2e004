"""Which amendments take a second person: those that raise an amount or change where money goes."""

from collections.abc import Sequence

from pipeline.book.book import Book
from pipeline.doubtful import Doubt, read_for, stored_now
from pipeline.errors import DecisionError
from pipeline.posting import refuse_alone
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


def raising(book: Book, settings: Settings, doubts: Sequence[Doubt], value: str) -> list[Doubt]:
    """Return those of some flags whose amendment takes a second person."""
    return [doubt for doubt in doubts if _raises(book, settings, doubt, value)]


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
