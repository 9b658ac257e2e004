"""Slips of the pen, drawn as people make them."""

import numpy as np

from pipeline.samples.draws import Draws, Whole

# 1 lb is 0.45359237 kg exactly (international yard and pound agreement, 1959).
KG_A_POUND = 0.45359237
# Digits that are read for each other.
LOOKALIKE = np.array([6, 7, 2, 8, 9, 6, 0, 1, 3, 4])


def slipped_weight(draws: Draws, hg: Whole, sack_hg: int) -> Whole:
    """Return weights with a slip each, in hundreds of grams: of nine kinds, equally often.

    The point a place to the right or left; pounds for kilograms; two digits changed round; one
    digit read for another; a digit left out; a digit written twice; one sack of several; ten more.
    """
    count = len(hg)
    kind = draws.whole(0, 8, count)
    place = 10 ** (1 + np.floor(draws.uniform(count) * (_digits(hg) - 1)).astype(np.int64))
    found = np.select(
        [kind == n for n in range(8)],
        [
            hg * 10,
            np.maximum(hg // 10, 1),
            np.round(hg / KG_A_POUND).astype(np.int64),
            _swapped(hg, place // 10),
            hg + (LOOKALIKE[hg // place % 10] - hg // place % 10) * place,
            hg // (place * 10) * place + hg % place,
            hg // place * place * 10 + hg // place % 10 * place + hg % place,
            np.where(hg > sack_hg, sack_hg, hg * 2),
        ],
        hg + 100,
    )
    return np.where(found > 0, found, hg * 10).astype(np.int64)


def slipped_number(draws: Draws, number: Whole) -> Whole:
    """Return numbers with a slip each: one digit another, or two neighbours changed round."""
    count = len(number)
    place = 10 ** np.floor(draws.uniform(count) * _digits(number)).astype(np.int64)
    other = (number // place % 10 + draws.whole(1, 9, count)) % 10
    replaced = number + (other - number // place % 10) * place
    swapped = _swapped(number, place)
    use_swap = draws.hit(0.4, count) & (swapped != number) & (swapped > 0)
    found = np.where(use_swap, swapped, replaced)
    return np.where(found > 0, found, number + 1)


def other_day(draws: Draws, day: Whole) -> Whole:
    """Return days with a slip each: mostly the day before or after, else a week or ten days off."""
    count = len(day)
    by = np.array([1, -1, 7, -7, 10, -10])[draws.pick([0.3, 0.3, 0.1, 0.1, 0.1, 0.1], count)]
    return np.where(day + by < 0, day + 1, day + by)


def _digits(number: Whole) -> Whole:
    return np.floor(np.log10(np.maximum(number, 1) + 0.5)).astype(np.int64) + 1


def _swapped(number: Whole, place: Whole) -> Whole:
    """Change the digit at `place` (1, 10, 100) and the one before it round."""
    low, high = number // place % 10, number // (place * 10) % 10
    return number + (high - low) * place + (low - high) * place * 10
