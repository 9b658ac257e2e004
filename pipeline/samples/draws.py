"""Seeded draws that give the same numbers on every machine."""

from zlib import crc32

import numpy as np
import numpy.typing as npt

Whole = npt.NDArray[np.int64]
Real = npt.NDArray[np.float64]


class Draws:
    """One named stream of draws under a seed.

    Everything is made from PCG64's plain uniforms, whose bits numpy promises to keep, and not
    from its distributions, whose streams may change with the version. Each topic has its own
    stream, so drawing more of one thing does not change the others.
    """

    def __init__(self, seed: int, topic: str) -> None:
        sequence = np.random.SeedSequence([seed, crc32(topic.encode())])
        self._generator = np.random.Generator(np.random.PCG64(sequence))

    def uniform(self, count: int) -> Real:
        """Return `count` numbers in [0, 1)."""
        return self._generator.random(count)

    def bell(self, count: int) -> Real:
        """Return `count` bell-shaped numbers: mean 0, deviation 1, never beyond 3.47.

        The sum of four uniforms stands in for a normal: its ends are cut, so that an honest
        season holds no freak value.
        """
        total = self.uniform(count)
        for _ in range(3):
            total += self.uniform(count)
        return (total - 2.0) * np.sqrt(3.0)

    def whole(self, low: int, high: int, count: int) -> Whole:
        """Return `count` whole numbers from `low` to `high`, both included."""
        return low + np.floor(self.uniform(count) * (high - low + 1)).astype(np.int64)

    def pick(self, weights: list[float], count: int) -> Whole:
        """Return `count` positions in `weights`, each as likely as its weight says."""
        total = sum(weights)
        level, place, reached = self.uniform(count), np.zeros(count, dtype=np.int64), 0.0
        for weight in weights[:-1]:
            reached += weight / total
            place += level >= reached
        return place

    def hit(self, share: float, count: int) -> npt.NDArray[np.bool_]:
        """Return `count` truth values, true for about `share` of them."""
        return self.uniform(count) < share
