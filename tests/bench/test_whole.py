"""The bench of all work: every part runs, and all sides find the same rows."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from pipeline.cli.bench import bench

FIGURES = {
    "first_take_over_floor",
    "pandas_over_ours",
    "pandas_checks_over_ours",
    "great_expectations_over_ours",
    "great_expectations_checks_over_ours",
    "week_s",
    "decision_s",
    "why_s",
    "help_s",
    "rebuild_over_first",
    "bytes_per_delivery",
    "peak_mib",
    "growth_10x",
}


@pytest.mark.long
def test_all_work_is_measured_and_the_sides_find_the_same(tmp_path: Path) -> None:
    out = tmp_path / "figures.json"
    size = ["--members", "400", "--deliveries", "8000", "--no-growth", "--seasons", "2"]
    size += ["--out", str(out)]
    done = CliRunner().invoke(bench, size, catch_exceptions=False)
    assert done.exit_code == 0
    figures = json.loads(out.read_text("utf-8"))
    assert figures.keys() >= FIGURES
    assert figures["same_found"]
    assert figures["growth_10x"] is None
    assert figures["week_after_closed_s"] > 0
    assert "great-expectations on pandas" in done.output
    # A fault of each sort was planted, so that none of the checks is compared on nothing.
    assert min(figures["found"].values()) > 0


@pytest.mark.long
def test_a_capable_analyst_and_great_expectations_find_what_the_rules_find(tmp_path: Path) -> None:
    """Duplicated lines apart: great-expectations counts the first of them too."""
    from pipeline.bench.analyst import shared_checks
    from pipeline.bench.faulty import plant_faults
    from pipeline.bench.season import write_season
    from pipeline.bench.shared import ours, with_expectations, with_pandas

    write_season(tmp_path / "drawn", 400, 8_000)
    plant_faults(tmp_path / "drawn")
    mine = ours(tmp_path / "drawn", tmp_path / "book", list(shared_checks()))
    pandas = with_pandas(tmp_path / "drawn")
    expectations = with_expectations(tmp_path / "drawn")
    assert mine.found == pandas.found
    assert mine.kg == pytest.approx(pandas.kg)
    assert expectations.found.pop("receipt-line-twice") == 2 * mine.found["receipt-line-twice"]
    del mine.found["receipt-line-twice"]
    assert expectations.found == mine.found


@pytest.mark.long
def test_a_season_is_measured_beside_one_of_a_tenth() -> None:
    size = ["growth", "--members", "4000", "--deliveries", "40000", "--json"]
    done = CliRunner().invoke(bench, size, catch_exceptions=False)
    assert done.exit_code == 0
    figures = json.loads(done.stdout)
    assert figures["members"] == 4000
    assert figures["rows"] > figures["weighings"] > 40_000
    assert figures["growth_10x"] > 0 and figures["week_s"] > 0
