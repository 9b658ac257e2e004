"""The shared checks as great-expectations alone runs them, on the frame that pandas read."""

import os
from typing import Any

os.environ["GX_ANALYTICS_ENABLED"] = "false"
import great_expectations as gx

from pipeline.bench.analyst import LINE
from pipeline.settings import Settings

expect: Any = gx.expectations


def check(rows: Any, members: Any, settings: Settings) -> dict[str, int]:
    """Return how many rows each shared check finds; a check of several expectations adds them.

    What great-expectations has no expectation for, a difference or a step, is first worked out as a
    column with pandas.
    """
    context: Any = gx.get_context(mode="ephemeral")
    context.variables.progress_bars = {"globally": False}
    steps = rows["gross_kg"] / rows["interval_kg"]
    frame = rows.assign(
        differs_kg=(rows["gross_kg"] - rows["tare_kg"] - rows["net_kg"]).abs(),
        steps_off=(steps - steps.round()).abs(),
    )
    frame["differs_kg"] = frame["differs_kg"].where(rows["tare_kg"] < rows["gross_kg"])
    possible = (rows["moisture_pct"] >= rows["possible_low"]) & (
        rows["moisture_pct"] <= rows["possible_high"]
    )
    frame["possible_pct"] = rows["moisture_pct"].where(possible)
    frame["known_station"] = rows["station"].where(rows["station_known"])
    batch = (
        context.data_sources.add_pandas("bench")
        .add_dataframe_asset("weighings")
        .add_batch_definition_whole_dataframe("weighings")
        .get_batch(batch_parameters={"dataframe": frame})
    )
    return {
        rule: sum(_unexpected(batch, one) for one in expectations)
        for rule, expectations in _expectations(members, settings).items()
    }


def _expectations(members: Any, settings: Settings) -> dict[str, list[Any]]:
    def between(column: str, **bounds: Any) -> Any:
        return expect.ExpectColumnValuesToBeBetween(column=column, **bounds)

    def above(larger: str, smaller: str, *, or_equal: bool = True) -> Any:
        return expect.ExpectColumnPairValuesAToBeGreaterThanB(
            column_A=larger,
            column_B=smaller,
            or_equal=or_equal,
            ignore_row_if="either_value_is_missing",
        )

    def within(column: str, values: list[str]) -> Any:
        return expect.ExpectColumnValuesToBeInSet(column=column, value_set=values)

    needed = ("member_no", "day", "gross_kg", "tare_kg", "net_kg")
    return {
        "missing-cell": [expect.ExpectColumnValuesToNotBeNull(column=name) for name in needed],
        "impossible-value": [
            between("gross_kg", min_value=0, strict_min=True),
            between("net_kg", min_value=0, strict_min=True),
            between("tare_kg", min_value=0),
        ],
        "outside-season": [above("day", "first_day"), above("last_day", "day")],
        "in-the-future": [above("taken_day", "day")],
        "unknown-station": [within("station", [one.code for one in settings.stations])],
        "unknown-scale": [within("scale", [one.code for one in settings.scales])],
        "scale-of-another-station": [
            expect.ExpectColumnPairValuesToBeEqual(
                column_A="scale_station",
                column_B="known_station",
                ignore_row_if="either_value_is_missing",
            )
        ],
        "unknown-member": [within("member_no", list(members))],
        "receipt-line-twice": [expect.ExpectCompoundColumnsToBeUnique(column_list=LINE)],
        "tare-not-below-gross": [above("gross_kg", "tare_kg", or_equal=False)],
        "net-not-gross-less-tare": [between("differs_kg", max_value=0.1)],
        "off-scale-interval": [between("steps_off", max_value=0.000001)],
        "above-scale-capacity": [above("capacity_kg", "gross_kg")],
        "moisture-impossible": [
            above("moisture_pct", "possible_low"),
            above("possible_high", "moisture_pct"),
        ],
        "moisture-unsafe": [above("possible_pct", "safe_low"), above("safe_high", "possible_pct")],
    }


def _unexpected(batch: Any, expectation: Any) -> int:
    result = batch.validate(expectation, result_format="BASIC")
    info: dict[str, Any] = result.exception_info or {}
    if info.get("raised_exception") or "unexpected_count" not in result.result:
        raise RuntimeError(f"{type(expectation).__name__} could not be run: {info}")
    return int(result.result["unexpected_count"])
