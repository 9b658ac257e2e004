"""Member numbers: Damm's check digit, and what a slipped number may have been."""

import pytest
from stdnum import damm

from pipeline.numbers import member_check_ok, near_numbers


def test_damm_572() -> None:
    # Worked example of Damm's method; package python-stdnum is a reference (read): 572 -> 4.
    assert member_check_ok("5724")
    assert not any(member_check_ok(f"572{digit}") for digit in "012356789")


def test_every_slip_and_every_swap_is_found() -> None:
    # What Damm's method promises (Damm 2004, from memory), over all numbers of three digits.
    for base in range(1000):
        good = f"{base:03d}" + damm.calc_check_digit(f"{base:03d}")
        slips = {
            good[:i] + d + good[i + 1 :] for i in range(4) for d in "0123456789" if d != good[i]
        }
        swaps = {good[:i] + good[i + 1] + good[i] + good[i + 2 :] for i in range(3)} - {good}
        assert member_check_ok(good)
        assert not any(member_check_ok(wrong) for wrong in slips | swaps)


@pytest.mark.parametrize("member_no", ["", "57x4", " 5724", "-5724", "٥٧٢٤"])
def test_only_plain_digits_are_a_number(member_no: str) -> None:
    assert not member_check_ok(member_no)


def test_near_numbers() -> None:
    known = {"5724", "5742", "1041", "5", "57240", "9724"}
    assert near_numbers("5274", known) == ["5724"]  # a swap
    assert near_numbers("5727", known) == ["5724"]  # a slip
    assert near_numbers("5724", known) == ["5742", "9724"]  # never itself
    assert near_numbers("4275", known) == []
    assert near_numbers("", known) == []
