"""A small trial of the matching, and that the seasons drawn are as hard as they say."""

import polars as pl
import pytest
from click.testing import CliRunner

from pipeline.cli.main import cli
from pipeline.season import match
from pipeline.season.tables import connect, rows, season_sql
from pipeline.trial.deliveries import season
from pipeline.trial.matching import TUNED_ON, fill, measure_matching

SEED = 77
SIZE = 8000


def test_matching_finds_nearly_all_and_pairs_hardly_any_wrongly() -> None:
    assert SEED not in TUNED_ON
    got = measure_matching(SIZE, SEED)
    assert got.true_pairs > 0.8 * SIZE
    assert got.found_share >= 0.98
    assert got.wrong_share <= 0.002
    parts = got.found + got.interchangeable + got.left_to_person + got.missed
    assert parts == got.true_pairs
    assert sum(got.why.values()) == got.found + got.wrong
    assert sum(got.wrong_by_why.values()) == got.wrong


def test_the_same_seed_gives_the_same_pairs() -> None:
    first, again = (measure_matching(1000, 5) for _ in range(2))
    assert (first.found, first.wrong, first.why) == (again.found, again.wrong, again.why)
    assert measure_matching(1000, 6).why != first.why


def test_the_seasons_are_as_hard_as_they_say() -> None:
    drawn = season(SEED, 20_000)
    beside = (
        drawn.truth.join(drawn.records, left_on="record_row_no", right_on="row_no")
        .join(
            drawn.weighings.rename({"row_no": "weighed_row_no"}).select(
                "weighed_row_no", pl.col("day").alias("on"), pl.col("receipt_no").alias("no"),
                pl.col("member_no").alias("of"),
            ),
            on="weighed_row_no",
        )
    )  # fmt: skip

    def share(what: pl.Expr) -> float:
        return float(beside.select(what.mean()).item())

    assert share(pl.col("receipt_no").is_null()) == pytest.approx(0.08, abs=0.02)
    assert share(pl.col("day") != pl.col("on")) == pytest.approx(0.02, abs=0.005)
    numbered = pl.col("receipt_no") != pl.col("no")
    assert share(numbered.fill_null(False)) == pytest.approx(0.01, abs=0.003)
    assert len(drawn.records) - len(drawn.truth) == pytest.approx(0.03 * 20_000, rel=0.25)
    kept = drawn.records["member_no"].n_unique() / drawn.weighings["member_no"].n_unique()
    assert kept == pytest.approx(0.9, abs=0.08)
    deliveries = drawn.weighings.filter(pl.col("line") == 1)
    a_day = deliveries.group_by("member_no", "day").len()
    twice = a_day.filter(pl.col("len") > 1)["member_no"].n_unique()
    assert twice / deliveries["member_no"].n_unique() == pytest.approx(0.3, abs=0.05)
    assert (deliveries["net_hg"] % 5 == 0).all()


def test_the_command_prints_the_figures() -> None:
    done = CliRunner().invoke(
        cli, ["trial", "matching", "--deliveries", "500", "--seed", "9", "--json"]
    )
    assert done.exit_code == 0, done.output
    for name in (
        "true_pairs",
        "found",
        "wrong",
        "left_to_person",
        "seconds",
        "found_share",
        "rows",
    ):
        assert f'"{name}": ' in done.output


def test_plain_pairs_are_what_the_best_pairing_holds_anyway(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    with_plain = _pairs_of(3000)
    whole = season_sql("match_plain")
    none = whole.replace("from one_record as o", "from (from one_record limit 0) as o")
    assert none != whole
    monkeypatch.setattr(
        match, "season_sql", lambda name: none if name == "match_plain" else season_sql(name)
    )
    assert _pairs_of(3000) == with_plain


def _pairs_of(deliveries: int) -> list[tuple[object, ...]]:
    with connect(":memory:", read_only=False, macros=True) as con:
        fill(con, season(SEED, deliveries))
        match.match_season(con)
        return sorted(
            rows(con, "select record_row_no, weighed_row_no, why from matched where "
                 "standing = 'settled'")
        )  # fmt: skip
