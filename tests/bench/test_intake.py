import json

import pytest
from click.testing import CliRunner

from pipeline.bench.intake import Intake, measure_intake
from pipeline.cli.main import cli

ROWS = 3000
RATIOS = ("typed_over_floor", "typed_over_floor_many_files")
OTHERS = ("careful_rows_per_s", "xlsx_s", "peak_mib")


@pytest.fixture(name="found", scope="module")
def found_fixture() -> Intake:
    return measure_intake(ROWS, files=40)


@pytest.mark.long
def test_every_row_is_stored_as_the_floor_stores_it(found: Intake) -> None:
    for pair in (found.one_file, found.many_files):
        assert (pair.rows, pair.floor_rows, pair.sent_back) == (ROWS, ROWS, 0)
        assert pair.same_sums
    assert (found.files, found.careful_rows, found.xlsx_rows) == (40, ROWS, ROWS)


@pytest.mark.long
def test_every_part_takes_time_and_memory(found: Intake) -> None:
    figures = found.figures()
    assert all(isinstance(figures[key], float) for key in RATIOS)
    assert found.one_file.ours.cpu_s > 0
    assert found.peak_mib > 50


@pytest.mark.long
def test_the_command_prints_the_figures_as_json() -> None:
    ran = CliRunner().invoke(cli, ["bench", "intake", "--rows", "1000", "--json"])
    assert ran.exit_code == 0, ran.output
    figures = json.loads(ran.stdout)
    assert {*RATIOS, *OTHERS, "rows", "cores"} <= figures.keys()
    assert figures["rows"] == 1000
