"""Gross margin of an enterprise: what a season's coffee left after the costs it caused."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from pipeline.money import divide_half_away


@dataclass(frozen=True, slots=True, kw_only=True)
class GrossMargin:
    """Value of production less variable costs, all in minor units of one currency."""

    value_minor: int
    variable_costs_minor: int

    @property
    def margin_minor(self) -> int:
        """Value less variable costs, minor units: 2 400 000 - 1 680 000 = 720 000."""
        return self.value_minor - self.variable_costs_minor


def gross_margin(value_minor: int, variable_costs_minor: Iterable[int]) -> GrossMargin:
    """Gross margin, minor units: 2 400 000 less 1 000 000 and 680 000 = 720 000.

    Fixed costs and the family's own labour are not in it. Source: FAO, Kahan, Economics for
    market-oriented farming (2008), ch. 2.
    """
    return GrossMargin(value_minor=value_minor, variable_costs_minor=sum(variable_costs_minor))


def break_even_price(
    variable_costs_minor: int, yield_kg: Decimal, *, currency_decimals: int, places: int = 2
) -> Decimal | None:
    """Price per kg, in currency units, at which the costs are just met: 672 350 / 1800 = 373.53.

    None where nothing was harvested. Rounded once to `places`, half away from zero.
    """
    return _ratio(Fraction(variable_costs_minor, 10**currency_decimals), Fraction(yield_kg), places)


def break_even_yield(
    variable_costs_minor: int, price_per_kg: Decimal, *, currency_decimals: int, places: int = 2
) -> Decimal | None:
    """Kilograms at which the costs are just met: 672 350 / 1200 = 560.29.

    None where the price is zero. Rounded once to `places`, half away from zero.
    """
    costs = Fraction(variable_costs_minor, 10**currency_decimals)
    return _ratio(costs, Fraction(price_per_kg), places)


def return_to_labour(
    margin: GrossMargin,
    labour_minor: int,
    days: Decimal,
    *,
    currency_decimals: int,
    places: int = 2,
) -> Decimal | None:
    """What a day of labour earned, in currency units: (1 487 650 + 363 600) / 63 = 29 384.92.

    `labour_minor` is the part of the variable costs that was labour, 0 where it was unpaid
    family labour and in no cost. None where no day was worked.
    """
    earned = Fraction(margin.margin_minor + labour_minor, 10**currency_decimals)
    return _ratio(earned, Fraction(days), places)


def _ratio(upper: Fraction, lower: Fraction, places: int) -> Decimal | None:
    if lower == 0:
        return None
    exact = upper / lower * 10**places
    return Decimal(divide_half_away(exact.numerator, exact.denominator)).scaleb(-places)
