"""What book.toml can declare about money, as plain objects: one class a table."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

TAKES = ("", "shares", "credit", "charges")
# What is taken for what no deduction of the book is declared to take: the last of all.
CREDIT, CHARGES = "credit", "charges"


@dataclass(frozen=True, slots=True, kw_only=True)
class Deduction:
    """A deduction on each delivery, in the order of book.toml, with what allows it.

    `takes`: "" a levy or charge by `percent` of the value or `per_kg`; "shares" the same, until the
    member has paid in `until_minor`; "credit" what is owed on issue notes; "charges" one-off
    charges and what earlier seasons could not take. `keep_percent`: the member keeps at least so
    much of what each delivery brings, premiums with it, before this is taken.
    """

    code: str
    name: str
    authority: str
    form: str = ""
    percent: Decimal | None = None
    per_kg: Decimal | None = None
    takes: str = ""
    until_minor: int | None = None
    keep_percent: Decimal = Decimal(0)
    # Its name in other languages of the book, by their codes.
    names: Mapping[str, str] = field(default_factory=dict[str, str], hash=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Premium:
    """Something paid on top of the price, or taken off it as a discount; "" stands for all.

    `ripe_from`: share of ripe cherries, per cent, from which it is paid; `moisture_above`: meter
    reading beyond which it applies.
    """

    code: str
    name: str
    authority: str
    discount: bool = False
    percent: Decimal | None = None
    per_kg: Decimal | None = None
    species: str = ""
    form: str = ""
    grade: str = ""
    station: str = ""
    certificate: str = ""
    from_day: date | None = None
    until_day: date | None = None
    ripe_from: Decimal | None = None
    moisture_above: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Paying:
    """How members are paid: the smallest coin or note of cash, the least sum, and the account.

    `coin_minor` and `least_minor` in whole minor units. `payer`, `account`, `agent`: the name, the
    account and the bank's identifier code that a payment file names as the payer's.
    """

    coin_minor: int = 1
    least_minor: int = 1
    payer: str = ""
    account: str = ""
    agent: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Voting:
    """Who may vote in the assembly: what a member must hold, deliver, and since when belong.

    `days`: so many days a member before the assembly; `authority`: the article that says so.
    """

    least_shares: int = 0
    least_kg: Decimal = Decimal(0)
    days: int = 0
    authority: str = ""
