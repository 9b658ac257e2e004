"""Rounding, decimals of currencies and shares, against standards and printed exercises."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import duckdb
import pytest
from stdnum import iso11649
from stdnum.iso7064 import mod_97_10

from pipeline.money import UnknownCurrency, decimals, divide_half_away, largest_remainder
from pipeline.payees import creditor_reference


@pytest.mark.parametrize(
    ("codes", "places"),
    [
        # ISO 4217 list of 2026-01-01 (read).
        ("BIF RWF UGX VND XAF XOF GNF PYG", 0),
        ("COP ETB KES TZS IDR LAK BRL HNL PGK PEN INR", 2),
        ("TND KWD", 3),
    ],
)
def test_decimals_of_a_currency(codes: str, places: int) -> None:
    assert {code: decimals(code) for code in codes.split()} == dict.fromkeys(codes.split(), places)


@pytest.mark.parametrize("code", ["", "ZZZ", "kes", "KE", "XAU"])
def test_unknown_currency(code: str) -> None:
    # XAU, gold, is in the standard's list but has no minor unit.
    with pytest.raises(UnknownCurrency, match="ISO 4217"):
        decimals(code)


@pytest.mark.parametrize(
    ("amount", "rounded"),
    [("0.125", "0.13"), ("-0.125", "-0.13"), ("0.135", "0.14"), ("0.124", "0.12")],
)
def test_duckdb_rounds_decimals_half_away_from_zero(
    ask: Callable[..., Any], amount: str, rounded: str
) -> None:
    # Half away from zero, where half to even gives 0.12: what money is rounded by here.
    assert ask("select round($amount, 2)", amount=Decimal(amount)) == Decimal(rounded)


@pytest.mark.parametrize(
    ("net_kg", "price", "places", "minor"),
    [
        # Arithmetic: exact halves at each number of decimals, in both directions.
        ("0.125", "1", 2, 13),
        ("-0.125", "1", 2, -13),
        ("0.5", "1", 0, 1),
        ("1.5", "1", 0, 2),
        ("2.5", "1", 0, 3),
        ("-2.5", "1", 0, -3),
        ("0.001", "0.5", 3, 1),
        ("60.5", "0.6250", 2, 3781),
        ("60.5", "2500", 0, 151_250),
        ("60.5", "1.2345", 3, 74_687),
        ("60.5", "1.2345", 4, 746_873),
    ],
)
def test_value_is_rounded_once(
    ask: Callable[..., Any], net_kg: str, price: str, places: int, minor: int
) -> None:
    query = "select value_minor($kg, $price, $places)"
    assert ask(query, kg=Decimal(net_kg), price=Decimal(price), places=places) == minor


def test_price_rounded_first_would_differ(ask: Callable[..., Any]) -> None:
    # 1000 kg x 0.1249 = 124.90; with the price rounded to 0.12 first it would be 120.00.
    assert ask("select value_minor(1000, 0.1249, 2)") == 12_490


def test_percent_and_charge_per_kg(ask: Callable[..., Any]) -> None:
    # Arithmetic: 3 % of 750 is 22.5, half away from zero.
    assert ask("select percent_minor(750, 3)") == 23
    assert ask("select percent_minor(-750, 3)") == -23
    assert ask("select percent_minor(9223372036854775807, 100)") == 2**63 - 1
    assert ask("select per_kg_minor(60.5, 0.0150, 2)") == 91


@pytest.mark.parametrize(
    ("query", "error"),
    [
        ("select value_minor(60.5::double, 0.62, 2)", "does not support the supplied arguments"),
        ("select value_minor(60.5, 0.62::double, 2)", "does not support the supplied arguments"),
        ("select value_minor(60.5, 0.62, 1)", "currency decimals"),
        ("select value_minor(60.5, 0.62, 5)", "currency decimals"),
        ("select value_minor(99999999999.999, 9999999999.9999, 2)", "out of range"),
    ],
)
def test_no_money_from_floats_or_past_the_end(
    con: duckdb.DuckDBPyConnection, query: str, error: str
) -> None:
    with pytest.raises(duckdb.Error, match=error):
        con.execute(query)


@pytest.mark.parametrize(
    ("a", "b", "quotient"),
    [(5, 2, 3), (-5, 2, -3), (5, -2, -3), (-5, -2, 3), (4, 3, 1), (1, 3, 0), (7, 7, 1), (0, -3, 0),
     (10**30 + 5 * 10**14, 10**15, 10**15 + 1), (-(10**30) - 5 * 10**14, 10**15, -(10**15) - 1)],
)  # fmt: skip
def test_one_division_in_sql_and_python(
    ask: Callable[..., Any], a: int, b: int, quotient: int
) -> None:
    assert divide_half_away(a, b) == quotient
    assert ask("select div_half_away($a::hugeint, $b::hugeint)", a=a, b=b) == quotient


def test_division_by_zero_has_no_answer(ask: Callable[..., Any]) -> None:
    assert ask("select div_half_away(1, 0)") is None
    assert ask("select div_half_away(1::hugeint, 0::hugeint)") is None
    with pytest.raises(ZeroDivisionError):
        divide_half_away(1, 0)


def test_shares_of_42() -> None:
    # Published exercise on the largest remainder (secondary), in thousands.
    assert largest_remainder(42, [247, 185, 459, 400, 413]) == [6, 5, 11, 10, 10]


def test_shares_of_60_by_the_census_of_1790() -> None:
    # Hamilton's method on the census of 1790 (secondary): VA MA PA NC NY MD CT SC NJ NH VT GA KY
    # RI DE.
    people = [
        630_560, 475_327, 432_879, 353_523, 331_589, 278_514, 236_841, 206_236,
        179_570, 141_822, 85_533, 70_835, 68_705, 68_446, 55_540,
    ]  # fmt: skip
    seats = [11, 8, 7, 6, 6, 5, 4, 3, 3, 2, 1, 1, 1, 1, 1]
    assert largest_remainder(60, people) == seats
    assert sum(seats) == 60


def test_ties_go_to_the_first_and_a_debt_is_shared_alike() -> None:
    # Co-operative practice, from memory: the parts of a second payment add up to the sum exactly.
    assert largest_remainder(10, [1, 1, 1]) == [4, 3, 3]
    assert largest_remainder(-10, [1, 1, 1]) == [-4, -3, -3]
    assert largest_remainder(0, [0, 0]) == [0, 0]
    assert largest_remainder(5, [0, 1, 0]) == [0, 5, 0]


@pytest.mark.parametrize("weights", [[], [0, 0], [3, -1]])
def test_nothing_to_share_by(weights: list[int]) -> None:
    with pytest.raises(ValueError, match="weight"):
        largest_remainder(10, weights)


def test_creditor_reference_of_iso_11649() -> None:
    # ISO 11649, Annex B: 2348231 gives RF712348231. Reference: package python-stdnum.
    assert creditor_reference("2348231") == "RF712348231"
    assert iso11649.is_valid(creditor_reference("PL-2026-1-10427"))


def test_check_digits_of_mod_97_10() -> None:
    # ISO 7064: 1234 gets 82. Reference: package python-stdnum.
    assert mod_97_10.calc_check_digits("1234") == "82"


@pytest.mark.parametrize(("exact", "rounded"), [("12.5", 13), ("-12.5", -13), ("0.5", 1)])
def test_a_share_of_125_thousandths_goes_away_from_nought(exact: str, rounded: int) -> None:
    # .125 and -.125 of a currency of two decimals: 12.5 minor units.
    assert divide_half_away(int(Decimal(exact) * 10), 10) == rounded


def test_a_priced_line_by_dry_matter_and_by_the_ico_factor(ask: Callable[..., Any]) -> None:
    # 100 kg at 25 % is 88.757 kg at 15.5 % (SDSU Extension, 2020: shrink 11.2426 %); at 1.00 a kg
    # that is 88.76. 75 kg parchment is 60 kg green (ICO Rules on Statistics, ICC 102-10).
    paid = ask("select kg_at_moisture($kg, 25, 15.5)", kg=Decimal(100))
    assert paid == Decimal("88.757")
    assert ask("select value_minor($kg, 1.0000, 2)", kg=paid) == 8876
    assert ask("select gbe_kg($kg, 'parchment', null)", kg=Decimal(75)) == Decimal("60.000")
