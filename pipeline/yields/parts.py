"""How much of a difference in income is trees, yield, price and quality; the parts add up exactly.

Income is a product: bearing trees, kilograms a tree, best price a kilogram, and the share of that
price which grade and moisture left. The difference of two such products is parted by the
logarithmic mean Divisia index (Ang 2005, from memory): each factor's part is the logarithmic mean
of the two incomes times the logarithm of the factor's change. It leaves no rest, and it does not
matter which factor is looked at first. Coins are settled by largest remainder.
"""

from dataclasses import dataclass
from math import floor, log


@dataclass(frozen=True, slots=True, kw_only=True)
class Crop:
    """What an income is made of: trees, kg, value at the best price and as it was, minor units.

    `other_minor`: value of coffee that has no counted trees or no known best price.
    """

    trees: int
    kg: float
    best_minor: int
    value_minor: int
    other_minor: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """A difference in value, minor units: the parts add up to `difference` exactly."""

    difference: int
    trees: int
    yield_: int
    price: int
    quality: int
    other: int


def parted(before: Crop, after: Crop) -> Parts | None:
    """Return what makes the difference, or None where a factor of either is not there.

    Twice the kilograms from as many trees at one price and quality: all of it is yield.
    """
    sides = (before, after)
    if any(min(c.trees, c.kg, c.best_minor, c.value_minor) <= 0 for c in sides):
        return None
    exact = after.value_minor - before.value_minor
    ratio = after.value_minor / before.value_minor
    mean = exact / log(ratio) if ratio != 1 else float(after.value_minor)
    logs = (
        log(after.trees / before.trees),
        log((after.kg / after.trees) / (before.kg / before.trees)),
        log((after.best_minor / after.kg) / (before.best_minor / before.kg)),
        log((after.value_minor / after.best_minor) / (before.value_minor / before.best_minor)),
    )
    trees, grown, price, quality = _whole([mean * part for part in logs], exact)
    other = after.other_minor - before.other_minor
    return Parts(
        difference=exact + other,
        trees=trees,
        yield_=grown,
        price=price,
        quality=quality,
        other=other,
    )


def _whole(parts: list[float], total: int) -> list[int]:
    """Round parts to whole coins so that they add up, the largest remainders first."""
    whole = [floor(part) for part in parts]
    order = sorted(range(len(parts)), key=lambda n: (whole[n] - parts[n], n))
    for n in range(total - sum(whole)):
        whole[order[n % len(order)]] += 1
    return whole
