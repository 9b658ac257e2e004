"""Member numbers: the check digit (Damm), and known numbers that a slip may stand for."""

from collections.abc import Set

from stdnum import damm

_DIGITS = "0123456789"


def member_check_ok(member_no: str) -> bool:
    """Whether a member number's last digit is its check digit: "5724" yes, "5742" no.

    Every slip in one digit and every swap of two neighbours is found. Source: Damm's method, as in
    package `python-stdnum`.
    """
    return _is_digits(member_no) and damm.is_valid(member_no)


def near_numbers(member_no: str, known: Set[str]) -> list[str]:
    """Known numbers that differ by one digit or by one swap of neighbours, in ascending order.

    "5742" with 5724 known gives ["5724"]. For suggestions only: nothing is corrected by itself.
    """
    slips = {
        member_no[:i] + digit + member_no[i + 1 :]
        for i in range(len(member_no))
        for digit in _DIGITS
    }
    swaps = {
        member_no[:i] + member_no[i + 1] + member_no[i] + member_no[i + 2 :]
        for i in range(len(member_no) - 1)
    }
    return sorted(number for number in (slips | swaps) - {member_no} if number in known)


def _is_digits(text: str) -> bool:
    # str.isdigit() alone also takes the digits of other scripts, which no receipt book prints.
    return text.isascii() and text.isdigit()
