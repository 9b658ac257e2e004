"""What a step may give, and the difference named: against worked examples and measured outturn."""

from collections.abc import Callable
from decimal import Decimal

import duckdb
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.season.tables import rows, season_sql
from tests.coffee.cards import line, named, season, steps

EXACT_METER = "".join(
    f'\n[[limit]]\nname = "{name}"\nvalue = "0"\nbecause = "read by the oven"\n'
    for name in ("meter_tolerance", "meter_tolerance_least")
)
Con = duckdb.DuckDBPyConnection


@pytest.mark.parametrize(
    ("before", "after", "out_kg", "what"),
    [
        # Pioneer Agronomy, Moisture shrink: 1000 at 25.5 % to 15.5 %, factor 1.1834 a point, with
        # 0.5 % for handling: 876.7 are left.
        ("25.5", "15.5", "876.657", {"water_g": 118_343, "handling_g": 5_000}),
        # SDSU Extension, Corn Grain Moisture Discount (2020): 25 % to 15.5 %, shrink 11.2426 %.
        ("25", "15.5", "887.574", {"water_g": 112_426}),
        # Dry-matter balance, wet to dry parchment: (100 - 55) / (100 - 12) = 0.511.
        ("55", "12", "511.364", {"water_g": 488_636}),
    ],
)
def test_water_is_what_the_dry_matter_balance_gives(
    before: str, after: str, out_kg: str, what: dict[str, int]
) -> None:
    with season(EXACT_METER) as con:
        line(con, "A", "opening_stock", "parchment", "", "1000", moisture_pct=Decimal(before))
        line(con, "A", "drying", "parchment", "1000", out_kg, moisture_pct=Decimal(after))
        assert named(steps(con)[1]) == what


def test_a_meter_may_read_as_far_off_as_is_allowed_and_no_farther(con: Con) -> None:
    # French order on grain moisture meters: 4 % of the reading, so 15 % is 14.4 to 15.6 % and 12 %
    # is 11.52 to 12.48 %: 1000 kg become 953.888 to 978.062 kg, and 5 kg go in handling.
    for lot_no, out in (("A", "978.062"), ("B", "978.063"), ("C", "948.888"), ("D", "948.887")):
        line(con, lot_no, "opening_stock", "parchment", "", "1000", moisture_pct=Decimal(15))
        line(con, lot_no, "drying", "parchment", "1000", out, moisture_pct=Decimal(12))
    dried = [named(step) for step in steps(con) if step["dries"]]
    assert [step.get("gain_g", 0) for step in dried] == [0, 1, 0, 0]
    assert [step.get("loss_g", 0) for step in dried] == [0, 0, 0, 1]


@pytest.mark.parametrize(
    ("form", "kg_in"),
    [
        # ICO Rules on Statistics, ICC 102-10: 60 kg of green are 75 kg of parchment or 120 kg of
        # dried cherry.
        ("parchment", "75"),
        ("dry_cherry", "120"),
    ],
)
def test_hulling_by_the_factors_leaves_nothing_unexplained(con: Con, form: str, kg_in: str) -> None:
    line(con, "A", "opening_stock", form, "", kg_in)
    line(con, "A", "hulling", "green", kg_in, "60")
    hulled = steps(con)[1]
    assert hulled["low_g"] < 60_000 < hulled["high_g"]
    assert named(hulled) == {"parts_g": int(kg_in) * 1000 - 60_000}


WASHED = ("pulping", "fermenting", "washing")
# Per 1000 kg of fresh cherry. Open course text on coffee farming, as measured: fresh to dry cherry
# 0.3397 and on to green 0.4781, fresh to dry parchment 0.1974 and on to green 0.8055.
MEASURED = {"dry_cherry": ("339.7", "162.411"), "parchment": ("197.4", "159.006")}


def natural(con: Con, dry: str, green: str) -> None:
    line(con, "A", "drying", "dry_cherry", "1000", dry)
    line(con, "A", "hulling", "green", dry, green)


def washed_at_once(con: Con, dry: str, green: str) -> None:
    for step in WASHED:
        line(con, "A", step, "parchment", "1000" if step == "pulping" else "")
    line(con, "A", "drying", "parchment", "", dry)
    line(con, "A", "hulling", "green", dry, green)


def washed_then_dried(con: Con, dry: str, green: str) -> None:
    # Wet parchment at 55 % and dry at 12 %: 0.511 of it is left.
    wet = str((Decimal(dry) * 88 / 45).quantize(Decimal("0.001")))
    for step in WASHED:
        last = wet if step == "washing" else ""
        line(con, "A", step, "parchment", "1000" if step == "pulping" else "", last)
    line(con, "A", "drying", "parchment", wet, dry)
    line(con, "A", "hulling", "green", dry, green)


@pytest.mark.parametrize(
    ("way", "dry", "green"),
    [
        (natural, *MEASURED["dry_cherry"]),
        (washed_at_once, *MEASURED["parchment"]),
        (washed_then_dried, *MEASURED["parchment"]),
        # College crop notes: 100 kg of fresh cherry give 12 to 20 kg of green; by the ICO's factor
        # that is 15 to 25 kg of parchment.
        (washed_at_once, "150", "120"),
        (washed_at_once, "250", "200"),
        (washed_then_dried, "150", "120"),
        (washed_then_dried, "250", "200"),
    ],
)
def test_outturn_as_measured_leaves_nothing_unexplained(
    con: Con, way: Callable[[Con, str, str], None], dry: str, green: str
) -> None:
    line(con, "A", "opening_stock", "fresh_cherry", "", "1000")
    way(con, dry, green)
    found = steps(con)
    assert all(step["low_g"] <= step["out_g"] <= step["high_g"] for step in found)
    for step in found:
        assert not {"handling_g", "loss_g", "gain_g"} & set(named(step)), step
    assert found[-1]["form_after"] == "green"


def test_a_loss_and_a_gain_are_named_to_the_gram(con: Con) -> None:
    # 1000 kg of parchment give 720 to 880 kg of green, and 5 kg may go in handling.
    for lot_no, out in (("A", "685"), ("B", "892.345")):
        line(con, lot_no, "opening_stock", "parchment", "", "1000")
        line(con, lot_no, "hulling", "green", "1000", out)
    _, lost, _, gained = steps(con)
    assert named(lost) == {"parts_g": 280_000, "handling_g": 5_000, "loss_g": 30_000}
    assert named(gained) == {"parts_g": 120_000, "gain_g": 12_345}


def test_steps_without_a_weight_belong_to_the_next_that_is_weighed(con: Con) -> None:
    line(con, "A", "opening_stock", "fresh_cherry", "", "1000")
    line(con, "A", "pulping", "parchment", "1000")
    line(con, "A", "fermenting", "parchment")
    line(con, "A", "washing", "parchment", "", "400")
    line(con, "A", "drying", "parchment")
    found = steps(con)
    assert [step["steps"] for step in found] == ["opening_stock", "pulping, fermenting, washing"]
    assert (found[1]["in_g"], found[1]["line"]) == (1_000_000, 4)
    assert named(found[1]) == {"parts_g": 600_000}


def test_drying_takes_water_away_and_coffee_at_rest_may_take_it_up(con: Con) -> None:
    # 1000 kg at 11 % hold 890 kg of dry matter, as 1011.364 kg at 12 % do.
    for lot_no, step in (("A", "drying"), ("B", "resting")):
        line(con, lot_no, "opening_stock", "parchment", "", "1000", moisture_pct=Decimal(11))
        line(con, lot_no, step, "parchment", "", "1011.364", moisture_pct=Decimal(12))
    _, dried, _, rested = steps(con)
    assert named(dried) == {"gain_g": 11_364}
    assert named(rested) == {"water_g": -11_364}


def test_sorting_out_is_named_apart_from_pulp_and_hulls(con: Con) -> None:
    line(con, "A", "opening_stock", "green", "", "1000")
    line(con, "A", "grading", "green", "1000", "900")
    assert named(steps(con)[1]) == {"sorted_g": 100_000}


def basis(con: Con, least_g: int, *, measured: bool = True) -> dict[str, tuple[Decimal, str]]:
    steps(con)
    con.execute("delete from green_basis")
    con.execute(season_sql("green_basis"), {"measured": measured, "least_g": least_g})
    found = rows(con, "select form, per_green, basis from green_basis where species = 'arabica'")
    return {form: (per_green, by) for form, per_green, by in found}


def season_lot(con: Con, lot_no: str, dry: str, green: str, read: str) -> None:
    """6000 kg of cherry, washed to 2400 kg, dried and hulled."""
    line(con, lot_no, "opening_stock", "fresh_cherry", "", "6000")
    line(con, lot_no, "pulping", "parchment", "6000")
    line(con, lot_no, "washing", "parchment", "", "2400")
    line(con, lot_no, "drying", "parchment", "2400", dry, moisture_pct=Decimal(read))
    line(con, lot_no, "hulling", "green", dry, green)


@pytest.mark.parametrize(
    ("dry", "read", "green", "per_green"),
    [
        # 6000 / 1200 = 5 to parchment and 1200 / 937.5 = 1.28 to green: 6.4.
        ("1200", "12", "937.5", "6.4"),
        # At 10 % 1144 kg are 1144 x 90 / 88 = 1170 kg at 12 %: 6000 / 1170 = 5.1282, by 1.28.
        ("1144", "10", "893.75", "6.5641"),
    ],
)
def test_measured_green_is_what_the_lots_gave(
    con: Con, dry: str, read: str, green: str, per_green: str
) -> None:
    season_lot(con, "A", dry, green, read)
    # A step with a loss that nobody explains says nothing of the outturn.
    season_lot(con, "B", dry, "600", read)
    assert [step["lot_no"] for step in steps(con) if step["loss_g"]] == ["B"]
    found = basis(con, 1_000_000)
    assert found["parchment"] == (Decimal("1.28"), "measured in 1 lot")
    assert found["fresh_cherry"] == (
        Decimal(per_green), "measured in 2 lots to parchment, then measured in 1 lot"
    )  # fmt: skip
    assert found["dry_cherry"] == (Decimal(2), "ICO Rules on Statistics")


def test_too_little_coffee_in_lots_keeps_the_factors(con: Con) -> None:
    season_lot(con, "A", "1200", "937.5", "12")
    stated = {form: per_green for form, (per_green, _) in basis(con, 0, measured=False).items()}
    # ICO Rules on Statistics: 0.8 and 0.5; about 6 kg of arabica cherry, ITC The Coffee Guide.
    assert stated == {
        "green": 1, "parchment": Decimal("1.25"), "dry_cherry": 2, "fresh_cherry": 6
    }  # fmt: skip
    above = basis(con, 6_000_001)
    assert {form: per_green for form, (per_green, _) in above.items()} == stated
    # Of the 6000 kg enough went into the lot, of its 1200 kg of parchment too little.
    between = basis(con, 6_000_000)
    assert between["parchment"] == (Decimal("1.25"), "ICO Rules on Statistics")
    assert between["fresh_cherry"][0] == Decimal("6.25")
    assert basis(con, 1_200_000)["parchment"][0] == Decimal("1.28")
    assert basis(con, 1_200_001)["parchment"][0] == Decimal("1.25")


KG = st.none() | st.integers(1, 3_000_000).map(lambda grams: f"{grams}e-3")
READ = st.none() | st.integers(0, 10_000).map(lambda n: Decimal(n).scaleb(-2))
STEPS = (
    "opening_stock", "receiving", "floating", "pulping", "fermenting", "washing", "drying",
    "resting", "hulling", "grading", "mixing",
)  # fmt: skip
LINE = st.tuples(
    st.sampled_from("ABC"),
    st.sampled_from(STEPS),
    st.sampled_from(("fresh_cherry", "dry_cherry", "parchment", "green")),
    KG,
    KG,
    READ,
)


def test_whatever_a_card_says_the_whole_difference_is_named() -> None:
    with season() as con:

        @settings(max_examples=60, deadline=None)
        @given(st.lists(LINE, min_size=1, max_size=12))
        def holds(card: list[tuple[str, str, str, str | None, str | None, Decimal | None]]) -> None:
            con.execute("delete from filled_lots")
            for lot_no, step, form, kg_in, kg_out, read in card:
                line(con, lot_no, step, form, kg_in or "", kg_out or "", moisture_pct=read)
            found = steps(con)
            # Each weight out is one step, at its own line, and nothing named is below nought.
            weighed = sorted(
                (lot_no, kg_out) for lot_no, _, _, _, kg_out, _ in card if kg_out is not None
            )
            assert sorted((one["lot_no"], f"{one['out_g']}e-3") for one in found) == weighed
            for one in found:
                if one["in_g"] is not None:
                    # Coffee at rest may take up water, and then water is below nought.
                    rests = one["dries"] is False and one["moisture_before"] is not None
                    drawn = {what for what, grams in named(one).items() if grams < 0}
                    assert drawn <= ({"water_g"} if rests else set()), one
                    assert not (one["loss_g"] and one["gain_g"]), one

        holds()
