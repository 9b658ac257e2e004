"""Faults of plots: trees, land and years."""

from collections.abc import Callable

from pipeline.trial.honest import Row
from pipeline.trial.planting import Fault, Planting
from pipeline.trial.plants.codes import unknown_number

KIND = "plots"


def _change(
    change: Callable[[Planting, Row], object],
    suits: Callable[[Row], bool],
    *,
    needs_earlier: bool = False,
) -> Callable[[Planting, str], None]:
    def plant(p: Planting, name: str) -> None:
        # The count of this year; a year before another one was taken.
        row = p.free(KIND, lambda row: not row.get("_old") and suits(row))
        change(p, row)
        # What the trees are said to be changes what every plot of the member can bear.
        p.note(name, KIND, row, traced=not needs_earlier or _counted_before(p, row))

    return plant


def _counted_before(p: Planting, row: Row) -> bool:
    plots = [p.row(place) for place in p.member_rows(KIND, row["_member"])]
    return any(one.get("_old") and one["plot_no"] == row["plot_no"] for one in plots)


def _bears(row: Row) -> bool:
    return row["trees_bearing"] > 20


def _too_many(p: Planting, row: Row) -> None:
    factor = p.whole(15, 30)
    row["trees"], row["trees_bearing"] = (
        row["trees"] * factor // 10,
        row["trees_bearing"] * factor // 10,
    )


def _grown(p: Planting, row: Row) -> None:
    factor = -(-420 // row["area_ha"])
    for name in ("area_ha", "trees", "trees_bearing"):
        row[name] *= factor


FAULTS = (
    Fault(
        kind="plot above 4 ha without a polygon",
        of="land",
        plant=_change(_grown, lambda row: _bears(row) and row["area_ha"] < 100),
    ),
    Fault(kind="more trees than the land holds", of="physics", plant=_change(_too_many, _bears)),
    Fault(
        kind="more trees bear than stand",
        of="arithmetic",
        plant=_change(
            lambda p, row: row.update(trees_bearing=row["trees"] + p.whole(1, 200)), _bears
        ),
    ),
    Fault(
        kind="planted in years to come",
        of="reference",
        plant=_change(lambda p, row: row.update(planted_year=p.whole(2027, 2095)), _bears),
    ),
    Fault(
        kind="planted last year, and bears",
        of="physics",
        plant=_change(lambda p, row: row.update(planted_year=2025), _bears),
    ),
    Fault(
        kind="area a tenth",
        of="physics",
        plant=_change(
            lambda p, row: row.update(area_ha=row["area_ha"] // 10),
            lambda row: _bears(row) and row["area_ha"] >= 10,
        ),
    ),
    Fault(
        kind="area ten times",
        of="physics",
        plant=_change(lambda p, row: row.update(area_ha=row["area_ha"] * 10), _bears),
    ),
    Fault(
        kind="plot of no member",
        of="reference",
        plant=_change(lambda p, row: row.update(member_no=unknown_number(p)), _bears),
    ),
    Fault(
        kind="planting year off by ten years",
        of="slip",
        plant=_change(
            lambda p, row: row.update(planted_year=row["planted_year"] - 10),
            lambda row: _bears(row) and row["planted_year"] > 2010,
            needs_earlier=True,
        ),
        cannot="Of a plot that was never counted before, any year of planting up to a hundred "
        "years back is possible.",
    ),
    Fault(
        kind="a tenth too few trees counted",
        of="slip",
        plant=_change(
            lambda p, row: row.update(
                trees=row["trees"] * 9 // 10, trees_bearing=row["trees_bearing"] * 9 // 10
            ),
            lambda row: row["trees_bearing"] > 200,
            needs_earlier=True,
        ),
        cannot="Of a plot that was never counted before nothing tells it: gaps in the rows take as "
        "many, and yields of honest members differ by far more.",
    ),
)
