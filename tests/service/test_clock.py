"""The clock of a trial: it runs so many times as fast, and instants are noted by it."""

import time
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.book.book import now
from pipeline.book.clock import VARIABLE, Clock, utc_now
from pipeline.service.chores import instant

SHOWS = datetime(2026, 5, 29, tzinfo=UTC)
REAL = datetime(2026, 1, 1, tzinfo=UTC)


def test_instants_are_the_machines_where_no_trial_set_a_clock(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delenv(VARIABLE, raising=False)
    assert abs(instant(now()) - datetime.now(UTC)) < timedelta(seconds=5)


def test_instants_are_noted_by_the_fast_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = Clock(SHOWS, datetime.now(UTC), 10_000)
    monkeypatch.setenv(VARIABLE, clock.text)
    first, began = utc_now(), time.monotonic()
    time.sleep(0.05)
    shown = (utc_now() - first).total_seconds()
    assert 500 <= shown <= 10_000 * (time.monotonic() - began + 0.05)
    assert now().startswith("2026-05-29T")


@given(
    at=st.datetimes(min_value=datetime(2026, 1, 1), max_value=datetime(2027, 1, 1)),
    rate=st.sampled_from([1.0, 2.0, 100.0, 120.0]),
)
def test_what_it_shows_and_when_it_shows_it_are_each_others_inverse(
    at: datetime, rate: float
) -> None:
    clock = Clock(SHOWS, REAL, rate)
    real = at.replace(tzinfo=UTC)
    assert abs(clock.really(clock.at(real)) - real) <= timedelta(microseconds=2)
    assert clock.at(REAL + clock.real_span(timedelta(days=1))) == SHOWS + timedelta(days=1)
