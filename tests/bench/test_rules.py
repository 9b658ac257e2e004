from pathlib import Path

import pytest

from checks.rules import RULES
from pipeline.bench.rules import RulesTook, measure_rules
from pipeline.bench.season import by_kind, write_season
from pipeline.samples.sheets import by_week

pytestmark = pytest.mark.long

MEMBERS, DELIVERIES = 100, 1000


@pytest.fixture(name="found", scope="module")
def found_fixture() -> RulesTook:
    return measure_rules(MEMBERS, DELIVERIES, turns=1)


def test_the_rules_alone_find_what_the_take_found(found: RulesTook) -> None:
    assert found.same_flags
    assert found.rules == len(RULES)
    assert found.weighings >= DELIVERIES / 2
    assert found.rows > found.weighings


def test_both_sides_take_time_and_memory(found: RulesTook) -> None:
    figures = found.figures()
    assert figures["seconds"] == round(found.ours.wall_s, 3)
    assert found.floor.wall_s > 0
    assert found.peak_mib > 50


def test_every_sheet_has_its_kind_and_its_day(tmp_path: Path) -> None:
    write_season(tmp_path, 60, 300)
    sheets = sorted((tmp_path / "season").glob("*/*.csv"))
    assert sorted(path for files in by_kind(tmp_path).values() for path in files) == sheets
    assert sorted(path for _, files in by_week(tmp_path / "season") for path in files) == sheets
    assert {"receipt_books", "prices", "farm_record"} <= by_kind(tmp_path).keys()
