"""What a payment list holds: payees with their references, and who is left out."""

from dataclasses import dataclass
from datetime import date

from stdnum.iso7064 import mod_97_10


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


def creditor_reference(text: str) -> str:
    """Return an ISO 11649 reference: 2348231 gives RF712348231 (Annex B)."""
    kept = "".join(c for c in text.upper() if c.isascii() and c.isalnum())[:21]
    return f"RF{mod_97_10.calc_check_digits(kept + 'RF')}{kept}"
