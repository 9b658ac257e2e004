"""Slips of the pen undone, against the pound of the agreement of 1959 and edit distances."""

from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rapidfuzz.distance import OSA
from scipy import constants

Undone = set[tuple[str, int]]


@pytest.fixture(scope="session")
def undone(ask: Callable[..., Any]) -> Callable[[int], Undone]:
    def of(g: int) -> Undone:
        return {(one["slip"], one["g"]) for one in ask("select slips_undone($g)", g=g)}

    return of


def written(g: int) -> str:
    """The digits of a weight as a scale of 0.1, 0.01 or 0.001 kg shows it, without the point."""
    return str(g // (100 if g % 100 == 0 else 10 if g % 10 == 0 else 1))


def test_every_slip_of_one_weight(undone: Callable[[int], Undone]) -> None:
    # 61.2 kg, by hand: 61.2 lb is 27.760 kg; 0-6, 5-6, 1-7 and 2-7 are read for each other.
    assert undone(61_200) == {
        ("point", 612_000),
        ("point", 6_120),
        ("pounds", 27_760),
        ("swapped", 62_100),
        ("swapped", 16_200),
        ("misread", 61_700),
        ("misread", 67_200),
        ("misread", 1_200),
        ("misread", 51_200),
    }
    # One digit has no neighbour to be swapped with; equal ones change nothing.
    assert {slip for slip, _ in undone(100)} == {"point", "pounds", "misread"}
    assert not any(slip == "swapped" for slip, _ in undone(33_300))


@settings(deadline=None)
@given(g=st.integers(1, 400_000))
def test_slips_are_one_edit_away_and_pounds_are_pounds(
    undone: Callable[[int], Undone], g: int
) -> None:
    found = undone(g)
    own = written(g)
    unit = g // int(own)
    for slip, other in found:
        assert other > 0 and other != g
        if slip in ("swapped", "misread"):
            assert other % unit == 0
            told = str(other // unit).zfill(len(own))
            # Optimal string alignment: one swap of neighbours or one digit for another.
            assert OSA.distance(own, told) == 1
            assert (sorted(own) == sorted(told)) == (slip == "swapped")
    pounds = {other for slip, other in found if slip == "pounds"}
    exact = Decimal(g) * Decimal(repr(constants.lb))
    assert pounds == {int(exact.quantize(Decimal(1), ROUND_HALF_UP))} - {0, g}
    tenfold = {other for slip, other in found if slip == "point"}
    assert g * 10 in tenfold and all(other in (g * 10, (g + 5) // 10) for other in tenfold)
    swaps = {
        own[:at] + own[at + 1] + own[at] + own[at + 2 :]
        for at in range(min(len(own) - 1, 6))
        if own[at] != own[at + 1]
    }
    assert {int(told) * unit for told in swaps} - {0} == {o for s, o in found if s == "swapped"}
