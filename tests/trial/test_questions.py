"""The questions of a large book, at a size that a test can wait for."""

import json
from pathlib import Path

import polars as pl
import pytest
from click.testing import CliRunner

from pipeline.cli.main import cli
from pipeline.samples.sheets import by_week
from pipeline.trial.honest import LATE, WEEKS, honest_season, places
from pipeline.trial.questions import Questions, arrivals, measure_questions, write_season

MEMBERS, SEED = 240, 79


@pytest.fixture(name="honest", scope="module")
def honest_fixture() -> Questions:
    return measure_questions(MEMBERS, SEED)


def test_questions_are_causes_and_add_up(honest: Questions) -> None:
    assert honest.faults == 0
    assert honest.questions == sum(one.questions for one in honest.rules)
    assert honest.flags == sum(one.flags for one in honest.rules)
    assert all(1 <= one.questions <= one.flags for one in honest.rules)
    assert honest.a_week == round(honest.questions / WEEKS, 2)
    assert honest.questions / (WEEKS + 1) <= honest.most_in_a_week <= honest.questions
    assert honest.held_share == 0


def test_faults_ask_more(honest: Questions) -> None:
    found = measure_questions(MEMBERS, SEED, faults=True)
    assert found.faults > 0
    assert found.rows == honest.rows
    assert found.questions > honest.questions
    assert found.held_share > 0


def test_the_season_is_the_one_that_faults_are_planted_in(tmp_path: Path) -> None:
    season = honest_season(SEED, MEMBERS)
    write_season(tmp_path, SEED, MEMBERS, places())
    for kind in ("weighings", "plots", "farm_record"):
        sheets = (tmp_path / "season").glob(f"*/{kind}*.csv")
        assert sum(pl.read_csv(path, infer_schema=False).height for path in sheets) == len(
            season.rows[kind]
        )


def test_some_sheets_come_weeks_later(tmp_path: Path) -> None:
    write_season(tmp_path, SEED, MEMBERS, places())
    usual = {path: day for day, paths in by_week(tmp_path / "season") for path in paths}
    came = {path: day for day, paths in arrivals(tmp_path, SEED) for path in paths}
    weeks = [(came[path] - day).days // 7 for path, day in usual.items()]
    late = [n for n in weeks if n]
    assert came.keys() == usual.keys()
    assert {*late} <= {1, 2, 3}
    assert 0 < len(late) / len(weeks) < 3 * LATE
    assert all(came[path] == usual[path] for path in usual if path.parent.name == "register")


def test_the_command_prints_figures() -> None:
    done = CliRunner().invoke(
        cli, ["trial", "questions", "--members", "200", "--seed", str(SEED), "--json"]
    )
    assert done.exit_code == 0, done.output
    figures = json.loads(done.stdout)
    assert figures["members"] == 200
    assert {"a_week", "questions", "rules", "held_share", "noted_share"} <= figures.keys()
