"""The money bench on a small season: it adds up, and a week alone gives what all of it gives."""

from pipeline.bench.money import bench_money


def test_a_small_season_adds_up_and_a_week_alone_gives_what_all_of_it_gives() -> None:
    found = bench_money(deliveries=4000, members=300, week_rows=60)
    assert found["ok"], found
    assert found["movements"] > 4000 and found["full_s"] > 0 and found["week_s"] > 0
