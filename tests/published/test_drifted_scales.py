"""A scale that moved, against ordinary least squares with a mean for each member (statsmodels)."""

from collections.abc import Iterator
from datetime import date, timedelta
from math import exp

import duckdb
import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf
from scipy import stats

from checks.views import rule_sql
from pipeline.book.macros import load_macros

FIRST = date(2026, 3, 30)
MOVED = FIRST + timedelta(weeks=9)
COLUMNS = (
    "scale, station, day, member_no, apart_ln, pct_apart, independent, written_from, "
    "weighed_sheet_no, weighed_row_no"
)


@pytest.fixture
def con() -> Iterator[duckdb.DuckDBPyConnection]:
    """What the rule reads, with one scale of one station."""
    with duckdb.connect(":memory:") as connection:
        load_macros(connection)
        for table in (
            "matched (scale varchar, station varchar, day date, member_no varchar, "
            "apart_ln decimal(18, 6), pct_apart decimal(14, 1), independent boolean, "
            "written_from varchar, weighed_sheet_no integer, weighed_row_no integer)",
            "exceptions (kind varchar, sheet_no integer, row_no integer)",
            "weighings (sheet_no integer, row_no integer, scale varchar, day date, "
            "net_kg decimal(14, 3), state varchar)",
            "valued (sheet_no integer, row_no integer, value_minor bigint)",
            "scales as select 'K-1' as scale, 'K' as station",
            "limits_here as select 'K' as station, '' as species, '' as form, 15.0 as drift_pairs, "
            "1.0 as scale_drift, 5.0 as drift_members, 15.0 as record_differs",
            "season_days as select date '2026-03-30' as first_day, date '2026-07-26' as last_day",
        ):
            connection.execute(f"create table {table}")
        yield connection


def drawn(seed: int) -> pd.DataFrame:
    """Draw pairs of thirty members, few to many each, whose balances differ, of one scale."""
    draws = np.random.default_rng(seed)
    rows = []
    for member in range(30):
        balance = draws.normal(0, 0.012)
        for _ in range(draws.integers(1, 12)):
            day = FIRST + timedelta(days=int(draws.integers(0, 17 * 7)))
            moved = -0.02 if day >= MOVED else 0.0
            apart = round(balance + moved + draws.normal(0, 0.01), 6)
            rows.append((f"M{member}", day, apart))
    return pd.DataFrame(rows, columns=["member", "day", "apart"])


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_shift_and_its_t_are_those_of_least_squares(
    con: duckdb.DuckDBPyConnection, seed: int
) -> None:
    pairs = drawn(seed)
    for n, row in enumerate(pairs.itertuples()):
        con.execute(
            f"insert into matched ({COLUMNS}) values "
            "('K-1', 'K', ?, ?, ?, 1, true, 'own_notebook', 1, ?)",
            [row.day, row.member, row.apart, n],
        )
        con.execute("insert into weighings values (1, ?, 'K-1', ?, 60, 'counted')", [n, row.day])
    found = con.execute(rule_sql("scales_drifted")).df()
    assert len(found) == 1
    span = found.iloc[0]
    late = (pairs.day >= span.from_day.date()) & (pairs.day <= span.to_day.date())
    used = pairs[late | (pairs.day <= span.before_day.date())].assign(late=late.astype(int))
    both = used.groupby("member").late.transform("nunique") == 2
    fit = smf.ols("apart ~ late + C(member)", used[both]).fit()
    assert float(span.shift_pct) == round(100 * (exp(-fit.params["late"]) - 1), 2)
    assert float(span.student_t) == pytest.approx(fit.tvalues["late"], abs=1e-4)
    assert [span.early_pairs, span.late_pairs] == list(used[both].late.value_counts().sort_index())
    assert span.members == used[both].member.nunique()


@pytest.mark.parametrize("df", [15, 24, 60, 500])
@pytest.mark.parametrize("t", [-9.0, -2.5, 3.0, 4.5, 5.566, 7.2])
def test_chance_of_student_is_never_below_the_true_one(
    con: duckdb.DuckDBPyConnection, df: int, t: float
) -> None:
    ((got,),) = con.execute("select student_beyond($t::double, $df)", {"t": t, "df": df}).fetchall()
    assert 1 <= got / (2 * stats.t.sf(abs(t), df)) < 1.2


def test_chance_of_student_at_nothing(con: duckdb.DuckDBPyConnection) -> None:
    assert con.execute("select student_beyond(0.0, 20)").fetchall() == [(1.0,)]
