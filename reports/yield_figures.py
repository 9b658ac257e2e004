"""Figures that are worked out as floats, printed to their digits: yields, estimates, shares."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

from reports.statement_parts import Voice


def rounded(value: float | Decimal, places: int) -> Decimal:
    """A figure to so many places, half away from zero: 0.12345 to three gives 0.123."""
    # A float's last digits are noise: twelve are kept, then it is rounded as it would be by hand.
    exact = Decimal(f"{value:.12g}") if isinstance(value, float) else Decimal(value)
    return exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)


def number(v: Voice, value: float | Decimal | None, places: int) -> str:
    """A figure as printed, or a dash where it is not known."""
    if value is None:
        return "–"
    shown = rounded(value, places)
    if places == 0:
        return v.figures.count(int(shown))
    if places == 3:
        return v.figures.gbe(shown)
    return v.figures.days(shown) if places == 1 else v.figures.price(shown)


def percent(v: Voice, part: float, whole: float) -> str:
    """A share in per cent with one place and its sign, or a dash where the whole is nought."""
    return f"{v.figures.percent(rounded(100 * part / whole, 1))}\u00a0%" if whole else "–"


def kilos(v: Voice, kg: float) -> str:
    """Whole kilograms: what is estimated is not known to the gram."""
    return v.figures.count(int(rounded(kg, 0)))
