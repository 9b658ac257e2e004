"""What a trade scale may be wrong by, its smallest load and its interval."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

MPE = "select class_iii_mpe_kg($load, $e)"
IN_SERVICE = "select in_service_error_kg($load, $e)"
E = Decimal("0.1")


@pytest.mark.parametrize(
    ("load_in_e", "allowed_in_e"),
    [
        # OIML R 76-1 Table 6, class III; UK SI 1995/1907 Sch. 2 (both read).
        (0, "0.5"),
        (500, "0.5"),
        (501, "1"),
        (2000, "1"),
        (2001, "1.5"),
        (10_000, "1.5"),
    ],
)
@pytest.mark.parametrize("interval", ["0.01", "0.05", "0.1", "0.5"])
def test_class_iii_error(
    ask: Callable[..., Any], interval: str, load_in_e: int, allowed_in_e: str
) -> None:
    e = Decimal(interval)
    assert ask(MPE, load=load_in_e * e, e=e) == Decimal(allowed_in_e) * e


def test_the_step_is_at_the_first_gram_above(ask: Callable[..., Any]) -> None:
    # "0 <= m <= 500 e" and "500 e < m <= 2000 e": same table.
    assert ask(MPE, load=Decimal("50.000"), e=E) == Decimal("0.05")
    assert ask(MPE, load=Decimal("50.001"), e=E) == Decimal("0.1")
    assert ask(MPE, load=Decimal("200.001"), e=E) == Decimal("0.15")


def test_beyond_class_iii_nothing_is_allowed(ask: Callable[..., Any]) -> None:
    # A class III scale has at most 10 000 intervals: same recommendation, Table 3.
    assert ask(MPE, load=Decimal("1000.1"), e=E) is None
    assert ask(MPE, load=Decimal("-1"), e=E) is None


@pytest.mark.parametrize("load", ["10", "50", "50.1", "200.1", "1000"])
def test_in_service_twice_first_verification(ask: Callable[..., Any], load: str) -> None:
    # OIML R 76-1; UK SI 1995/1907 Sch. 2 (read).
    values = {"load": Decimal(load), "e": E}
    assert ask(IN_SERVICE, **values) == 2 * ask(MPE, **values) > 0


def test_smallest_load(ask: Callable[..., Any]) -> None:
    # OIML R 76-1 Table 3, class III: 20 e (read).
    assert ask("select smallest_load_kg($e)", e=E) == Decimal("2")
    assert ask("select smallest_load_kg($e)", e=Decimal("0.05")) == Decimal("1")


@pytest.mark.parametrize(
    ("accuracy_class", "half_to", "one_to", "last", "smallest"),
    [
        # OIML R 76-1 Tables 3 and 6, in numbers of e: class III as read, II and IIII from memory.
        ("II", 5000, 20_000, 100_000, 50),
        ("III", 500, 2000, 10_000, 20),
        ("IIII", 50, 200, 1000, 10),
    ],
)
def test_other_classes(
    ask: Callable[..., Any],
    accuracy_class: str,
    half_to: int,
    one_to: int,
    last: int,
    smallest: int,
) -> None:
    loads = [half_to, half_to + 1, one_to, one_to + 1, last, last + 1]
    allowed = [
        ask("select mpe_kg($load, $e, $c)", load=load * E, e=E, c=accuracy_class) for load in loads
    ]
    half, one, more = E / 2, E, E * 3 / 2
    assert allowed == [half, one, one, more, more, None]
    assert ask("select smallest_load_kg($e, $c)", e=E, c=accuracy_class) == smallest * E
    twice = ask("select in_service_error_kg($load, $e, $c)", load=E, e=E, c=accuracy_class)
    assert twice == E


def test_unknown_class_allows_nothing(ask: Callable[..., Any]) -> None:
    assert ask("select mpe_kg($load, $e, 'V')", load=E, e=E) is None
    assert ask("select smallest_load_kg($e, 'V')", e=E) is None


@pytest.mark.parametrize(
    ("interval", "lawful"),
    [
        # Directive 2014/31/EU Annex I: 1, 2 or 5 x 10^k (read).
        ("0.001", True), ("0.002", True), ("0.005", True), ("0.05", True), ("0.1", True),
        ("0.2", True), ("0.5", True), ("1", True), ("10", True), ("200", True),
        ("0.25", False), ("0.3", False), ("0.125", False), ("4", False), ("15", False),
        ("0", False), ("-1", False), ("101", False),
    ],
)  # fmt: skip
def test_form_of_the_interval(ask: Callable[..., Any], interval: str, lawful: bool) -> None:
    assert ask("select is_lawful_interval($e)", e=Decimal(interval)) is lawful


@pytest.mark.parametrize(
    ("reading", "interval", "shown"),
    [
        # Same annex: a scale can only show whole intervals.
        ("60.3", "0.1", True), ("60.25", "0.1", False), ("60.25", "0.05", True),
        ("0.3", "0.1", True), ("-0.3", "0.1", True), ("60.001", "0.1", False),
        ("61", "0.2", True), ("61.1", "0.2", False),
    ],
)  # fmt: skip
def test_readings_are_whole_intervals(
    ask: Callable[..., Any], reading: str, interval: str, shown: bool
) -> None:
    query = "select is_multiple($reading, $e)"
    assert ask(query, reading=Decimal(reading), e=Decimal(interval)) is shown
