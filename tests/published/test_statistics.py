"""Statistics that tell slipped or made-up figures, against published data sets and scipy."""

from collections.abc import Callable
from decimal import Decimal
from statistics import mean, stdev
from typing import Any

import pytest
from scipy import stats

# Iglewicz & Hoaglin 1993 and NIST/SEMATECH e-Handbook, Grubbs data: values from memory,
# results recomputed.
NIST = ["199.31", "199.53", "200.19", "200.82", "201.92", "201.95", "202.18", "245.57"]
MASKED = ["2.1", "2.6", "2.4", "2.5", "2.3", "2.1", "2.3", "2.6", "8.2", "8.3"]


def decimals(values: list[str]) -> list[Decimal]:
    return [Decimal(value) for value in values]


@pytest.mark.parametrize(
    ("counts", "chi_square"),
    [
        # Exercise of a statistics textbook (secondary), n = 80.
        ([15, 5, 3, 8, 5, 17, 7, 6, 9, 5], 23.5),
        # Univ. of Queensland, Portable Introduction to Data Analysis ch. 22 (read), n = 900.
        ([47, 101, 109, 90, 145, 111, 132, 75, 50, 40], 132.0667),
    ],
)
def test_last_digits(ask: Callable[..., Any], counts: list[int], chi_square: float) -> None:
    got = ask("select chi_square_uniform($counts)", counts=counts)
    assert round(got, 4) == chi_square
    assert got == pytest.approx(stats.chisquare(counts).statistic, rel=1e-12)
    # The printed critical value, 9 degrees of freedom at 5 %: both sets are beyond it.
    assert round(stats.chi2.ppf(0.95, 9), 3) == 16.919 < got


def test_even_counts_and_no_counts(ask: Callable[..., Any]) -> None:
    assert ask("select chi_square_uniform($counts)", counts=[7] * 10) == 0
    assert ask("select chi_square_uniform($counts)", counts=[0] * 10) is None


@pytest.mark.parametrize(
    ("n_0_and_5", "n", "index"),
    [
        # UN scale; Yadav et al. 2020 (read): 100 = no preference, 500 = every figure ends in 0
        # or 5; below 105 very good, above 175 very rough.
        (20, 100, 100.0),
        (100, 100, 500.0),
        (21, 100, 105.0),
        (35, 100, 175.0),
    ],
)
def test_whipple(ask: Callable[..., Any], n_0_and_5: int, n: int, index: float) -> None:
    assert ask("select share_0_5_whipple($part, $n)", part=n_0_and_5, n=n) == index


def test_whipple_of_nothing(ask: Callable[..., Any]) -> None:
    assert ask("select share_0_5_whipple(0, 0)") is None


def test_modified_z_of_the_nist_data(ask: Callable[..., Any]) -> None:
    scores = ask("select modified_z_list($xs)", xs=decimals(NIST))
    assert round(scores[-1], 4) == 29.9627
    assert all(abs(score) < 3.5 for score in scores[:-1])


def test_modified_z_sees_what_a_plain_z_does_not(ask: Callable[..., Any]) -> None:
    # Two far values hide each other from mean and deviation: plain 1.913, modified 26.3055.
    plain = (8.3 - mean(map(float, MASKED))) / stdev(map(float, MASKED))
    scores = ask("select modified_z_list($xs)", xs=decimals(MASKED))
    assert round(plain, 3) == 1.913
    assert round(scores[-1], 4) == 26.3055
    assert [score > 3.5 for score in scores] == [False] * 8 + [True, True]


@pytest.mark.parametrize("values", [NIST, MASKED])
def test_list_and_row_forms_agree_with_scipy(ask: Callable[..., Any], values: list[str]) -> None:
    by_list = ask("select modified_z_list($xs)", xs=decimals(values))
    by_row = ask(
        """
        with figures as (
            select x::decimal(18, 6) as x, place
            from unnest($xs) with ordinality as given(x, place)
        ),
        middle as (select median(x) as med, mad(x) as mad from figures)
        select list(modified_z(x, med, mad) order by place) from figures, middle
        """,
        xs=decimals(values),
    )
    floats = [float(value) for value in values]
    spread = stats.median_abs_deviation(floats)
    centre = sorted(floats)[3:5] if len(floats) == 8 else sorted(floats)[4:6]
    expected = [0.6745 * (x - mean(centre)) / spread for x in floats]
    assert by_list == by_row
    assert by_list == pytest.approx(expected, rel=1e-9)


def test_no_score_where_most_are_equal(ask: Callable[..., Any]) -> None:
    assert ask("select modified_z_list($xs)", xs=decimals(["2", "2", "2", "9"])) == [None] * 4


def test_double_mad(ask: Callable[..., Any]) -> None:
    # Package plausi, Statistical Office of the canton of Zurich (read): left 2.0, right 1.5.
    data = "1 2 3 3 4 4 4 5 5.5 6 6 6.5 7 7 7.5 8 9 12 52 90".split()
    assert ask("select double_mad($xs)", xs=decimals(data)) == {
        "med": Decimal(6),
        "left_mad": Decimal("2.0"),
        "right_mad": Decimal("1.5"),
    }


def test_tukey_fences(ask: Callable[..., Any]) -> None:
    # Worked answer (secondary): quartiles are the medians of the two halves.
    data = "240 272 280 285 285 285 290 295 300 305 305 310".split()
    got = ask("select tukey_fences($xs)", xs=decimals(data))
    assert got == {
        "q1": Decimal("282.5"),
        "q3": Decimal("302.5"),
        "inner_low": Decimal("252.5"),
        "inner_high": Decimal("332.5"),
        "outer_low": Decimal("222.5"),
        "outer_high": Decimal("362.5"),
    }
    # R's type 7, which quantile_cont() uses, has other quartiles: a limit must name its method.
    type_7 = ask(
        "select quantile_cont(x, [0.25, 0.75]) from unnest($xs::double[]) as t(x)",
        xs=data,
    )
    assert type_7 == [283.75, 301.25]


def test_quartiles_leave_out_the_middle_of_an_odd_number(ask: Callable[..., Any]) -> None:
    # Moore & McCabe's method, from memory: 1, 2 | 3 | 4, 5 has quartiles 1.5 and 4.5.
    got = ask("select tukey_fences($xs)", xs=decimals(["3", "5", "1", "4", "2"]))
    assert (got["q1"], got["q3"]) == (Decimal("1.5"), Decimal("4.5"))


@pytest.mark.parametrize(
    ("looks", "as_for"), [(0, 1), (1, 1), (2, 2), (3, 5), (7, 10), (100, 100), (101, 200)]
)
def test_bound_of_last_digits_for_many_looks(
    ask: Callable[..., Any], looks: int, as_for: int
) -> None:
    # Bonferroni: one book in a hundred, shared over the looks; the next larger number of the table.
    got = ask("select chi_square_9_critical($looks)", looks=looks)
    assert got == pytest.approx(stats.chi2.isf(0.01 / as_for, 9), abs=5e-5)


def test_every_bound_of_the_table_agrees_with_scipy(ask: Callable[..., Any]) -> None:
    steps = [n * 10**power for power in range(5) for n in (1, 2, 5)] + [100_000, 1_000_000]
    for looks in steps:
        got = ask("select chi_square_9_critical($looks)", looks=looks)
        assert got == pytest.approx(stats.chi2.isf(0.01 / looks, 9), abs=5e-5), looks
    assert ask("select chi_square_9_critical(1000001)") is None


@pytest.mark.parametrize(("part", "n"), [(20, 100), (30, 100), (0, 60), (60, 60), (7, 61)])
def test_chi_square_of_0_and_5(ask: Callable[..., Any], part: int, n: int) -> None:
    got = ask("select chi_square_0_5($part, $n)", part=part, n=n)
    expected = stats.chisquare([part, n - part], [n / 5, n * 4 / 5]).statistic
    assert got == pytest.approx(expected, rel=1e-12, abs=1e-12)
    assert ask("select chi_square_0_5(0, 0)") is None


@pytest.mark.parametrize("x", [0, 0.1, 2, 6.3458, 14.0671, 18.4753, 24.3219, 60, 300])
def test_tail_of_chi_square_with_7_degrees_of_freedom(ask: Callable[..., Any], x: float) -> None:
    # 14.0671, 18.4753 and 24.3219 are the printed critical values at 5, 1 and 0.1 %.
    got = ask("select chi_square_7_tail($x::double)", x=x)
    assert got == pytest.approx(stats.chi2.sf(x, 7), rel=1e-5, abs=1e-7 if x < 60 else 0)


@pytest.mark.parametrize(
    ("k", "n", "p"),
    [
        (2, 20, 0.1),
        (0, 1, 0.5),
        (0, 60, 0.02),
        (60, 60, 0.1),
        (3, 60, 0.1),
        (9, 10, 0.999),
        (140, 1500, 0.101),
        (45, 700, 0.02),
    ],
)
def test_tails_of_the_binomial(ask: Callable[..., Any], k: int, n: int, p: float) -> None:
    at_most = ask("select binomial_at_most($k, $n, $p)", k=k, n=n, p=p)
    at_least = ask("select binomial_at_least($k, $n, $p)", k=k, n=n, p=p)
    assert at_most == pytest.approx(stats.binom.cdf(k, n, p), rel=1e-9)
    assert at_least == pytest.approx(stats.binom.sf(k - 1, n, p), rel=1e-9)
    # A second reference: the one-sided binomial test of the same package, worked another way.
    assert at_least == pytest.approx(
        stats.binomtest(k, n, p, alternative="greater").pvalue, rel=1e-9
    )


@pytest.mark.parametrize(
    "chances",
    [(0.05, 0.05, 0.05), (1, 1, 1), (0.2, 0.9, 1e-12), (1e-60, 0.5, 1e-30), (0.01, 0.04, 0.03)],
)
def test_three_chances_together(ask: Callable[..., Any], chances: tuple[float, ...]) -> None:
    got = ask(
        "select fisher_of_three($a::double, $b::double, $c::double)",
        **dict(zip("abc", chances, strict=True)),
    )
    expected = stats.combine_pvalues(chances, method="fisher").pvalue
    assert got == pytest.approx(expected, rel=1e-9)


def test_a_chance_of_nothing_is_as_small_as_a_float_goes(ask: Callable[..., Any]) -> None:
    assert 0 < ask("select fisher_of_three(0.0, 0.5, 0.5)") < 1e-290
