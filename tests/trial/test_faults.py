"""A small trial of planted faults, and that each plant does what it says and no more."""

import json
from decimal import Decimal
from typing import Any

import pytest
from click.testing import CliRunner

from pipeline.cli.main import cli
from pipeline.season.flags import Flag
from pipeline.trial.faults import TUNED_ON, planted_season
from pipeline.trial.honest import Season, honest_season
from pipeline.trial.judged import judge
from pipeline.trial.planting import Fault, Place, Planting, plant_all
from pipeline.trial.plants import BY_KIND, FAULTS
from pipeline.trial.season_book import Seen

SEED = 178
CERTAIN = ("arithmetic", "physics", "reference")


@pytest.fixture(scope="module")
def honest() -> Season:
    return honest_season(SEED, 400)


def copied(season: Season) -> Season:
    rows = {kind: [dict(row) for row in of_kind] for kind, of_kind in season.rows.items()}
    return Season(places=season.places, rows=rows, late=season.late)


def changed(before: Season, planting: Planting) -> set[Place]:
    """Return the rows that differ from the honest season, are new, or were never sent in."""
    found = set(planting.gone) | {(kind, n) for kind, n, _ in planting.texts}
    for kind, rows in planting.season.rows.items():
        old = before.rows[kind]
        found |= {(kind, n) for n, row in enumerate(rows) if n >= len(old) or row != old[n]}
    return found


def test_there_are_kinds_enough_and_each_has_its_own_name() -> None:
    assert len(BY_KIND) == len(FAULTS) >= 30


def test_a_seed_gives_the_same_season_and_the_same_faults() -> None:
    first, again = (planted_season(honest_season(SEED, 200), SEED, 200) for _ in range(2))
    assert first.season.rows == again.season.rows
    assert first.planted == again.planted
    other = planted_season(honest_season(SEED + 1, 200), SEED + 1, 200)
    assert other.season.rows != first.season.rows


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.kind)
def test_a_plant_changes_the_rows_it_says_and_no_others(honest: Season, fault: Fault) -> None:
    planting = plant_all(copied(honest), SEED, [fault], 1.0)
    assert len(planting.planted) == fault.a_season
    touched = changed(honest, planting)
    said: set[Place] = set()
    for planted in planting.planted:
        assert planted.rows & touched, "nothing at fault was changed"
        assert planted.group or len(planted.rows) <= 16
        assert not planted.rows & planted.beside
        said |= planted.rows | planted.beside
    assert touched <= said


def test_a_recorder_copies_one_moisture_in_one_planting_only(honest: Season) -> None:
    planting = plant_all(copied(honest), SEED, [BY_KIND["one moisture all day"]], 5.0)
    recorders = [
        {(row["_at"], row["recorder"]) for row in map(planting.row, fault.rows)}
        for fault in planting.planted
    ]
    assert len(recorders) > 2
    assert sum(map(len, recorders)) == len(set[object]().union(*recorders))


def test_an_honest_season_varies_as_life_does(honest: Season) -> None:
    weighed = honest.rows["weighings"]
    for row in weighed:
        assert row["gross_kg"] - row["tare_kg"] == row["net_kg"]
    keeps = {row["member_no"] for row in honest.rows["deliveries"]}
    members = {row["member_no"] for row in honest.rows["members"]}
    assert 0.3 < len(keeps) / len(members) < 0.7
    assert {"memory", "own_notebook", "receipt_copy"} == {
        row["written_from"] for row in honest.rows["deliveries"]
    }
    assert honest.late and any(row["void_nos"] for row in honest.rows["receipt_books"])
    areas = [row["area_ha"] for row in honest.rows["plots"]]
    assert min(areas) <= 10 and 100 < max(areas) <= 390
    share: dict[str, float] = {}
    for name in {row["recorder"] for row in weighed}:
        own = [row["gross_kg"] % 5 == 0 for row in weighed if row["recorder"] == name]
        share[name] = sum(own) / len(own)
    # Some round to half a kilogram now and then; the others show 0 and 5 as often as any digit.
    assert max(share.values()) > 0.28 > 0.25 > min(share.values())


def seen(place: Place, rule: str, severity: str = "hold", week: str = "2026-W20") -> Seen:
    flag = Flag(
        flag=f"{rule}{place}", rule=rule, severity=severity, kind=place[0], sheet="s.csv",
        sheet_no=1, sha256="", row=2, row_key="", col="", heading="", value=None, value_hash="",
        say="", do="", station="", week=week, kg_at_stake=Decimal(0), money_at_stake=0,
        decision="", decided_by="", because="", sure=1.0,
    )  # fmt: skip
    return Seen(flag=flag, place=place)


def test_a_flag_that_the_honest_season_has_too_finds_nothing(honest: Season) -> None:
    planting = plant_all(copied(honest), SEED, [BY_KIND["unknown grade"]], 1 / 3)
    (place,) = planting.planted[0].rows
    found = judge(honest, planting, [], [seen(place, "no-price")])
    assert found.findings[0].rules == ("no-price",)
    assert found.findings[0].severity == "hold"
    both = [seen(place, "no-price")]
    assert judge(honest, planting, both, both).findings[0].rules == ()


def test_a_flag_on_another_faults_row_does_not_find_the_group_around_it(honest: Season) -> None:
    kinds = [BY_KIND["weighed 4 % short all season"]]
    planting = plant_all(copied(honest), SEED, kinds, 1.0)
    (group,) = planting.planted
    inside = next(place for place in sorted(group.rows) if place[0] == "weighings")
    planting.note("unknown grade", "weighings", planting.row(inside))
    found = judge(honest, planting, [], [seen(inside, "no-price")])
    assert [bool(finding.rules) for finding in found.findings] == [False, True]


def test_flags_on_honest_rows_are_false_and_those_that_a_fault_explains_are_not(
    honest: Season,
) -> None:
    planting = plant_all(copied(honest), SEED, [BY_KIND["receipt line twice in its sheet"]], 1 / 3)
    (planted,) = planting.planted
    explained = next(iter(planted.beside))
    elsewhere = next(
        ("weighings", n)
        for n in range(len(honest.rows["weighings"]))
        if ("weighings", n) not in planted.rows | planted.beside
    )
    flags = [seen(explained, "a"), seen(elsewhere, "b"), seen(elsewhere, "c", "note")]
    found = judge(honest, planting, [], flags)
    assert (found.false_held, found.false_noted) == (1, 1)
    assert dict(found.false_rules) == {"b": 1, "c": 1}
    assert found.honest_rows + len(planted.rows | planted.beside) == found.all_rows + 1


@pytest.mark.long
def test_a_small_trial_runs_the_real_path_and_adds_up() -> None:
    assert SEED not in TUNED_ON
    asked = ["trial", "faults", "--seeds", "1", "--members", "120", "--first-seed", str(SEED)]
    done = CliRunner().invoke(cli, [*asked, "--json"])
    assert done.exit_code == 0, done.output
    figures: dict[str, Any] = json.loads(done.stdout)
    planting = planted_season(honest_season(SEED, 120), SEED, 120)
    kinds = figures["kinds"]
    assert sum(kind["planted"] for kind in kinds) == len(planting.planted)
    assert [kind["kind"] for kind in kinds] == [fault.kind for fault in FAULTS]
    for kind in kinds:
        assert sum(kind["by_severity"].values()) == kind["found"] <= kind["planted"]
        assert bool(kind["rules"]) == bool(kind["found"])
    missed = sum(miss["missed"] for miss in figures["missed"])
    assert missed == sum(kind["planted"] - kind["found"] for kind in kinds)
    for name in CERTAIN:
        of_class = [kind for kind in kinds if kind["class"] == name]
        planted = sum(kind["planted"] for kind in of_class)
        assert planted >= len(of_class) > 3
        assert sum(kind["found"] for kind in of_class) >= 0.99 * planted
    assert figures["seeds"] == [SEED] and figures["tuned_on"] == []
    assert 0 <= figures["false_hold_share"] <= 0.002
    assert 0 <= figures["first20_money_share"] <= 1
