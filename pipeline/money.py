"""Whole minor units: decimals of a currency, exact division, and shares that add up."""

from collections.abc import Sequence
from decimal import Decimal

from iso4217 import Currency


class UnknownCurrency(ValueError):
    """A code that the ISO 4217 table does not hold, or holds without decimals."""


def decimals(code: str) -> int:
    """Decimals of a currency's minor unit: "UGX" 0, "KES" 2, "TND" 3.

    The code is three capital letters. Raises UnknownCurrency for any other, also for those
    without a minor unit, such as gold (XAU). Source: ISO 4217 table in package `iso4217`.
    """
    currency = Currency.__members__.get(code) if code.isupper() else None
    if currency is None or currency.exponent is None:
        raise UnknownCurrency(f"{code!r} is not an ISO 4217 currency with decimals, such as KES.")
    return currency.exponent


def divide_half_away(numerator: int, denominator: int) -> int:
    """Quotient of two whole numbers, rounded once, half away from zero: -5 / 2 = -3.

    Raises ZeroDivisionError where the denominator is 0. The same rule as the SQL macro
    `div_half_away`.
    """
    size = (abs(numerator) + abs(denominator) // 2) // abs(denominator)
    return size if (numerator < 0) == (denominator < 0) else -size


def largest_remainder(total_minor: int, weights: Sequence[int]) -> list[int]:
    """Share a sum by weights so that the parts add up to it exactly, in the order of the weights.

    Each part is its quota rounded down (towards zero); what is left goes, one minor unit each, to
    the largest remainders, and among equal ones to the first. 10 over 1, 1, 1 = 4, 3, 3. Weights
    are whole and not negative; the sum may be negative. Raises ValueError for a negative weight,
    or where there is something to share and nobody to share it. Source: Hamilton's method.
    """
    if any(weight < 0 for weight in weights):
        raise ValueError("A weight to share by is negative.")
    whole = sum(weights)
    if whole == 0:
        if total_minor == 0:
            return [0] * len(weights)
        raise ValueError(f"{total_minor} minor units cannot be shared: the weights come to 0.")
    quotas = [divmod(abs(total_minor) * weight, whole) for weight in weights]
    parts = [quota for quota, _ in quotas]
    left = abs(total_minor) - sum(parts)
    first = sorted(range(len(weights)), key=lambda i: (-quotas[i][1], i))
    for i in first[:left]:
        parts[i] += 1
    return parts if total_minor >= 0 else [-part for part in parts]


def money_text(minor: int, decimals: int) -> str:
    """Return an amount as plain text for a terminal: 123456 at 2 decimals is 1,234.56."""
    return f"{Decimal(minor).scaleb(-decimals):,.{decimals}f}"
