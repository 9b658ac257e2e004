"""The week's trial at its smallest: one day by a clock a thousand times as fast."""

import pytest

from pipeline.trial.week import _slopes, measure_week


@pytest.mark.long
def test_a_day_of_the_real_service_by_a_fast_clock() -> None:
    found = measure_week(1, 1000)
    (day,) = found.days
    assert (found.taken, found.dropped, found.verify_ok) == (2, 2, True)
    assert set(day.memory_mib) == {"supervisor", "desk", "prefect", "schedules", "runs"}
    assert all(mib > 10 for part, mib in day.memory_mib.items() if part != "runs")
    assert day.chores["nightly"] and not any(found.restarts.values())


def test_growth_is_by_day_and_leaves_the_first_out() -> None:
    days = [{"desk": mib, "runs": 0.0} for mib in (90.0, 100.0, 101.5, 103.0)]
    assert _slopes(days) == {"desk": 1.5}
    assert _slopes(days[:2]) == {}
