"""How often the interval of a difference holds the true one, on groups drawn from a known law."""

from dataclasses import dataclass

import numpy as np

from pipeline.yields.intervals import difference

# Members on either side, as villages have them.
SIZES = ((8, 12), (15, 15), (20, 40), (60, 60))
# Yields a tree are lognormal here: means and how far members of one village are apart.
MIDDLES, APART = (0.45, 0.40), (0.25, 0.45)


@dataclass(frozen=True, slots=True, kw_only=True)
class Intervals:
    """Share of intervals that held the true difference of means, in all and by group sizes."""

    seed: int
    draws: int
    coverage_95: float
    by_size: dict[str, float]


def measure_intervals(draws: int, seed: int) -> Intervals:
    """Draw pairs of groups whose true means are known, `draws` in all, and count what is held."""
    drawn = np.random.default_rng(seed)
    each = max(1, draws // (len(SIZES) * len(APART)))
    held: dict[str, int] = {}
    for sizes in SIZES:
        name = f"{sizes[0]} and {sizes[1]}"
        held[name] = sum(_held(drawn, sizes, apart) for apart in APART for _ in range(each))
    per_size = each * len(APART)
    return Intervals(
        seed=seed,
        draws=per_size * len(SIZES),
        coverage_95=round(sum(held.values()) / (per_size * len(SIZES)), 4),
        by_size={name: round(count / per_size, 4) for name, count in held.items()},
    )


def _held(drawn: np.random.Generator, sizes: tuple[int, int], apart: float) -> bool:
    one, other = (
        drawn.lognormal(np.log(middle) - apart**2 / 2, apart, size)
        for middle, size in zip(MIDDLES, sizes, strict=True)
    )
    found = difference(one, other)
    return found is not None and found.low <= MIDDLES[0] - MIDDLES[1] <= found.high
