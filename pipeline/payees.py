"""What a payment list holds: payees with their references, and who is left out."""

import hashlib
from dataclasses import dataclass
from datetime import date

from stdnum.iso7064 import mod_97_10

# ISO 11649: 25 characters, of which "RF" and two check digits are four.
MOST_IN_REFERENCE = 21


@dataclass(frozen=True, slots=True, kw_only=True)
class Payee:
    """One payment of a list: its number, the member, amount and what is carried in minor units.

    `reference`: a creditor reference with check digits (ISO 11649).
    """

    payment_no: str
    member_no: str
    name: str
    station: str
    village: str
    method: str
    account: str
    account_at: str
    amount_minor: int
    carried_minor: int
    reference: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PaymentList:
    """A payment list: payees in order of station, village and number; who is left out, and why.

    `accounts_waiting`: who is paid to the earlier account, since nobody agreed to the new one yet.
    """

    list_no: str
    season: str
    day: date
    payees: tuple[Payee, ...]
    left_out: tuple[dict[str, str], ...]
    accounts_waiting: tuple[dict[str, str], ...] = ()

    @property
    def sum_minor(self) -> int:
        """The control sum: what all payments of the list come to."""
        return sum(payee.amount_minor for payee in self.payees)

    @property
    def digest(self) -> str:
        """SHA-256 of who is paid how much, how and where: lists that pay the same have the same."""
        paid = [
            (p.member_no, p.name, p.method, p.account, p.account_at, p.amount_minor)
            for p in self.payees
        ]
        return hashlib.sha256(repr(paid).encode()).hexdigest()


def creditor_reference(text: str) -> str:
    """Return an ISO 11649 reference: 2348231 gives RF712348231 (Annex B).

    ValueError for more than the 21 letters and digits that it holds: cut off, two would be alike.
    """
    kept = "".join(c for c in text.upper() if c.isascii() and c.isalnum())
    if len(kept) > MOST_IN_REFERENCE:
        raise ValueError(f"{kept} has more than {MOST_IN_REFERENCE} letters and digits.")
    return f"RF{mod_97_10.calc_check_digits(kept + 'RF')}{kept}"
