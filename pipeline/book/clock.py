"""The clock that instants are noted by: the machine's, or for a trial one that runs faster.

A trial sets WEIGHBOOK_CLOCK for the processes that it starts, as `Clock.text` writes it.
"""

import os
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

VARIABLE = "WEIGHBOOK_CLOCK"


@dataclass(frozen=True, slots=True)
class Clock:
    """A clock that showed `shows` when it really was `real`, and runs `rate` times as fast."""

    shows: datetime
    real: datetime
    rate: float

    def at(self, real: datetime) -> datetime:
        """Return what it shows at a real instant."""
        return self.shows + (real - self.real) * self.rate

    def really(self, shown: datetime) -> datetime:
        """Return the real instant at which it shows this."""
        return self.real + (shown - self.shows) / self.rate

    def real_span(self, span: timedelta) -> timedelta:
        """Return how long a span of this clock really is."""
        return span / self.rate

    @property
    def text(self) -> str:
        """What WEIGHBOOK_CLOCK is to hold."""
        return f"{self.shows.isoformat()} {self.real.isoformat()} {self.rate}"


def fast_clock() -> Clock | None:
    """Return the clock that a trial set; None where the machine's is used."""
    text = os.environ.get(VARIABLE, "")
    if not text:
        return None
    shows, real, rate = text.split()
    return Clock(datetime.fromisoformat(shows), datetime.fromisoformat(real), float(rate))


def utc_now() -> datetime:
    """Return the present instant."""
    real = datetime.now(UTC)
    fast = fast_clock()
    return fast.at(real) if fast else real
