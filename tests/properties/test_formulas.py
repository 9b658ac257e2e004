"""The formulas over any figures their columns can hold, against exact arithmetic in Python."""

from collections.abc import Iterator
from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction
from random import Random
from typing import Any

import duckdb
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from stdnum import damm

from pipeline.book.macros import load_macros
from pipeline.money import divide_half_away, largest_remainder
from pipeline.numbers import member_check_ok, near_numbers

WIDE = Context(prec=60, rounding=ROUND_HALF_UP)  # half away from zero, and no digit lost
FORMS = ("fresh_cherry", "dry_cherry", "parchment", "green")


def whole(low: int, high: int, places: int) -> st.SearchStrategy[Decimal]:
    return st.integers(low, high).map(lambda n: Decimal(n).scaleb(-places))


KG = whole(-(10**10), 10**10, 3)  # 10 000 t either way
ANY_KG = whole(-(10**14 - 1), 10**14 - 1, 3)  # whatever DECIMAL(14,3) holds
PRICE = whole(0, 10**8, 4)
PERCENT = whole(0, 999_999, 4)


@pytest.fixture(scope="module")
def con() -> Iterator[duckdb.DuckDBPyConnection]:
    with duckdb.connect(":memory:") as connection:
        load_macros(connection)
        yield connection


def one(con: duckdb.DuckDBPyConnection, query: str, **values: object) -> Any:
    row = con.execute(query, values).fetchone()
    assert row is not None
    return row[0]


def half_away(exact: Fraction, places: int = 0) -> Decimal:
    """Rounded by the definition: whole part, then up where the rest is a half or more."""
    size = abs(exact) * 10**places
    up = size.numerator // size.denominator
    if size - up >= Fraction(1, 2):
        up += 1
    return Decimal(up if exact >= 0 else -up).scaleb(-places)


@given(kg=KG, price=PRICE, places=st.sampled_from([0, 2, 3, 4]))
def test_value_is_decimal_half_up_with_the_sign(
    con: duckdb.DuckDBPyConnection, kg: Decimal, price: Decimal, places: int
) -> None:
    got = one(con, "select value_minor($kg, $price, $places)", kg=kg, price=price, places=places)
    exact = WIDE.multiply(WIDE.multiply(abs(kg), price), Decimal(10**places))
    size = int(exact.quantize(Decimal(1), context=WIDE))
    assert got == (size if kg >= 0 else -size)
    assert got == -one(
        con, "select value_minor($kg, $price, $places)", kg=-kg, price=price, places=places
    )


@given(kg=ANY_KG, minor_a_kg=st.integers(0, 92_000_000), places=st.sampled_from([0, 2, 3]))
def test_no_weight_overflows_below_92_million_minor_units_a_kg(
    con: duckdb.DuckDBPyConnection, kg: Decimal, minor_a_kg: int, places: int
) -> None:
    price = Decimal(minor_a_kg).scaleb(-places)
    got = one(con, "select value_minor($kg, $price, $places)", kg=kg, price=price, places=places)
    assert got == half_away(Fraction(kg) * minor_a_kg)


@given(amount=st.integers(-(2**63) + 1, 2**63 - 1), percent=whole(0, 1_000_000, 4))
def test_percent_of_any_amount(
    con: duckdb.DuckDBPyConnection, amount: int, percent: Decimal
) -> None:
    got = one(con, "select percent_minor($amount, $percent)", amount=amount, percent=percent)
    assert got == half_away(Fraction(amount) * Fraction(percent) / 100)


@given(kg=whole(-(10**13), 10**13, 3), wet=PERCENT, dry=whole(0, 900_000, 4))
def test_moisture_is_exact_division(
    con: duckdb.DuckDBPyConnection, kg: Decimal, wet: Decimal, dry: Decimal
) -> None:
    got = one(con, "select kg_at_moisture($kg, $wet, $dry)", kg=kg, wet=wet, dry=dry)
    assert got == half_away(Fraction(kg) * (100 - Fraction(wet)) / (100 - Fraction(dry)), 3)


@given(kg=ANY_KG, form=st.sampled_from(FORMS), cherry=whole(10_000, 10**6, 4))
def test_green_bean_equivalent_is_exact(
    con: duckdb.DuckDBPyConnection, kg: Decimal, form: str, cherry: Decimal
) -> None:
    got = one(con, "select gbe_kg($kg, $form, $cherry)", kg=kg, form=form, cherry=cherry)
    per_kg = {"fresh_cherry": 1 / Fraction(cherry), "dry_cherry": Fraction(1, 2),
              "parchment": Fraction(4, 5), "green": Fraction(1)}[form]  # fmt: skip
    assert got == half_away(Fraction(kg) * per_kg, 3)


@given(row=whole(1000, 10**7, 4), tree=whole(1000, 10**7, 4))
def test_trees_per_hectare_is_exact(
    con: duckdb.DuckDBPyConnection, row: Decimal, tree: Decimal
) -> None:
    got = one(con, "select trees_per_ha($row, $tree, 'rectangular')", row=row, tree=tree)
    assert got == half_away(10_000 / (Fraction(row) * Fraction(tree)), 1)


@given(tree=whole(1, 10**7, 4))
def test_triangular_trees_bracket_the_irrational(
    con: duckdb.DuckDBPyConnection, tree: Decimal
) -> None:
    got = one(con, "select trees_per_ha($tree, $tree, 'triangular')", tree=tree)
    # t is within half a tenth of 10^4 / a^2 x 2 / sqrt(3): compare squares, which are rational.
    exact_squared = (10_000 / Fraction(tree) ** 2) ** 2 * Fraction(4, 3)
    half = Fraction(1, 20)
    assert max(Fraction(got) - half, 0) ** 2 <= exact_squared <= (Fraction(got) + half) ** 2


@given(a=st.integers(-(10**35), 10**35), b=st.integers(-(10**25), 10**25).filter(bool))
def test_division_of_any_size(con: duckdb.DuckDBPyConnection, a: int, b: int) -> None:
    quotient = divide_half_away(a, b)
    missed = 2 * abs(a - quotient * b)
    assert missed < abs(b) or (missed == abs(b) and abs(quotient * b) > abs(a))
    assert one(con, "select div_half_away($a::hugeint, $b::hugeint)", a=a, b=b) == quotient


@given(
    total=st.integers(-(10**15), 10**15),
    weights=st.lists(st.integers(0, 10**12), min_size=1, max_size=40).filter(any),
)
def test_shares_add_up_and_keep_to_the_quota(total: int, weights: list[int]) -> None:
    parts = largest_remainder(total, weights)
    assert sum(parts) == total
    whole_weight = sum(weights)
    for part, weight in zip(parts, weights, strict=True):
        assert abs(part - Fraction(total * weight, whole_weight)) < 1


@given(
    total=st.integers(0, 10**9),
    weights=st.lists(st.integers(1, 10**9), min_size=1, max_size=20, unique=True),
    seed=st.integers(0, 2**32),
)
def test_shares_do_not_depend_on_order_unless_tied(
    total: int, weights: list[int], seed: int
) -> None:
    quotas = [Fraction(total * weight, sum(weights)) % 1 for weight in weights]
    assume(len(set(quotas)) == len(quotas))
    by_weight = dict(zip(weights, largest_remainder(total, weights), strict=True))
    other = weights.copy()
    Random(seed).shuffle(other)
    assert largest_remainder(total, other) == [by_weight[weight] for weight in other]


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(
    xs=st.lists(whole(0, 10**8, 3), min_size=1, max_size=60),
    seed=st.integers(0, 2**32),
)
def test_group_statistics_do_not_depend_on_order_or_threads(
    con: duckdb.DuckDBPyConnection, xs: list[Decimal], seed: int
) -> None:
    query = """
        select
            double_mad(list(x)), tukey_fences(list(x)), list_sort(modified_z_list(list(x))),
            chi_square_uniform(list(grams(x))), sum(gbe_kg(x, 'parchment', 6)),
            sum(value_minor(x, 0.6217, 2))
        from unnest($xs::decimal(14, 3)[]) as t(x)
    """
    other = xs.copy()
    Random(seed).shuffle(other)
    con.execute("set threads = 1")
    first = con.execute(query, {"xs": xs}).fetchall()
    con.execute("set threads = 4")
    assert con.execute(query, {"xs": other}).fetchall() == first


@given(xs=st.lists(whole(0, 10**10, 3), min_size=1, max_size=30))
def test_median_and_mads_of_weights_are_exact(
    con: duckdb.DuckDBPyConnection, xs: list[Decimal]
) -> None:
    def median(values: list[Fraction]) -> Fraction:
        ordered, n = sorted(values), len(values)
        return (ordered[(n - 1) // 2] + ordered[n // 2]) / 2

    exact = [Fraction(x) for x in xs]
    middle = median(exact)
    got = one(con, "select double_mad($xs)", xs=xs)
    assert got["med"] == middle
    assert got["left_mad"] == median([middle - x for x in exact if x <= middle])
    assert got["right_mad"] == median([x - middle for x in exact if x >= middle])


@given(base=st.text("0123456789", min_size=1, max_size=12), data=st.data())
def test_a_slip_is_found_and_suggested(base: str, data: st.DataObject) -> None:
    good = base + damm.calc_check_digit(base)
    place = data.draw(st.integers(0, len(good) - 1))
    digit = data.draw(st.sampled_from([d for d in "0123456789" if d != good[place]]))
    wrong = good[:place] + digit + good[place + 1 :]
    assert member_check_ok(good)
    assert not member_check_ok(wrong)
    assert near_numbers(wrong, {good}) == [good]
