from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.errors import SettingsError
from pipeline.intake.units import convert, factor, heading_units
from tests.intake.conftest import TIN, column_of, notes, reasons, settings_with

HUNDRED = Decimal(100)


def test_what_units_are_worth_exactly() -> None:
    # NIST Handbook 44 (2024), appendix C: international pound 0.453 592 37 kg, foot 0.3048 m; acre
    # 4046.856 422 4 m2 as 43 560 square feet of it. All exact.
    assert factor("weight", "lb", HUNDRED) == Fraction("0.45359237")
    assert factor("length", "ft", HUNDRED) == Fraction("0.3048")
    assert factor("area", "acre", HUNDRED) * 10_000 == Fraction("4046.8564224")
    assert factor("area", "acre", HUNDRED) * 10_000 == 43_560 * Fraction("0.3048") ** 2


@given(
    st.decimals(min_value=-10_000, max_value=10_000, places=3),
    st.sampled_from(["kg", "g", "lb", "quintal", "t"]),
    st.integers(min_value=0, max_value=4),
)
def test_conversion_is_exact_and_rounded_once_half_away_from_nought(number, unit, places) -> None:
    worth = factor("weight", unit, HUNDRED)
    exact = Fraction(number) * worth
    found = Fraction(convert(str(number), worth, places))
    assert abs(found - exact) <= Fraction(1, 2 * 10**places)
    if abs(found - exact) == Fraction(1, 2 * 10**places):
        assert abs(found) > abs(exact)


def test_a_half_goes_away_from_nought() -> None:
    assert convert("0.5", Fraction("0.001"), 3) == "0.001"
    assert convert("-0.5", Fraction("0.001"), 3) == "-0.001"
    assert convert("0.4", Fraction("0.001"), 3) == "0.000"


@pytest.mark.parametrize(
    ("cell", "kilograms"),
    [
        ("61 kg", "61"), ("61kg", "61"), ("61,5 Kilos", "61.5"), ("500 g", "0.5"),
        ("120 lb", "54.431"), ("120 lbs.", "54.431"), ("2 qq", "200"), ("1.5 quintaux", "150"),
        ("0.5 t", "500"), ("3 quilos", "3"),
    ],
)  # fmt: skip
def test_weights_with_their_unit_in_the_cell(typed, cell: str, kilograms: str) -> None:
    whole = {"gross_kg": "62", "tare_kg": "1", "moisture_pct": "12"}
    found = typed([{**whole, "net_kg": cell}])
    assert (found.rows["net_kg"].to_list(), reasons(found)) == ([Decimal(kilograms)], [])


def test_a_quintal_of_another_weight_is_a_setting(typed) -> None:
    found = typed([{"net_kg": "2 qq"}], book='[sheets]\nquintal_kg = "46"')
    assert found.rows["net_kg"].to_list() == [Decimal(92)]


@pytest.mark.parametrize(
    ("column", "cell", "stored"),
    [
        ("area_ha", "0.5 acre", "0.2023"), ("area_ha", "2 ekari", "0.8094"),
        ("area_ha", "3400 m2", "0.34"), ("area_ha", "3400 m²", "0.34"),
        ("area_ha", "0.34 ha", "0.34"),
        ("row_spacing_m", "8 ft", "2.44"), ("row_spacing_m", "250 cm", "2.5"),
        ("row_spacing_m", "2.5 m", "2.5"),
    ],
)  # fmt: skip
def test_areas_and_lengths(typed, column: str, cell: str, stored: str) -> None:
    found = typed([{column: cell}], kind="plots")
    assert (found.rows[column].to_list(), reasons(found)) == ([Decimal(stored)], [])


@pytest.mark.parametrize(
    ("column_type", "heading", "units"),
    [
        ("quantity cm", "Wall distance (m)", ("m",)), ("quantity °C", "Temperature (C)", ()),
        ("quantity h", "Hours (min)", ("min",)), ("quantity h", "Hours (h)", ()),
        ("kg", "Net (lb)", ("lb",)), ("kg", "Poids net kg", ("kg",)), ("kg", "Net", ()),
        ("kg", "Peso neto (qq)", ("quintal",)), ("kg", "Net kg/lb", ("kg", "lb")),
        ("kg", "Net (tins)", ("tin",)), ("kg", "T no", ()), ("hectares", "Area (acre)", ("acre",)),
        ("hectares", "Área ha", ("ha",)), ("metres", "M no", ()),
        ("metres", "Row spacing m", ("m",)),
        ("price", "Price per lb", ("lb",)), ("money", "Amount (EUR)", ("EUR",)),
    ],
)  # fmt: skip
def test_units_that_a_heading_names(column_type: str, heading: str, units: tuple) -> None:
    assert heading_units(column_of(column_type), heading) == units


@pytest.mark.parametrize(
    ("column", "cell", "stored"),
    [
        ("pallet_cm", "15 cm", "15"), ("wall_cm", "0.3 m", "30"), ("wall_cm", "1 ft", "30.48"),
        ("temperature_c", "22.5 °C", "22.5"), ("temperature_c", "22.5 C.", "22.5"),
        ("humidity_pct", "62 percent", "62"), ("humidity_pct", "62%", "62"),
    ],
)  # fmt: skip
def test_the_columns_own_unit_beside_a_number(typed, column: str, cell: str, stored: str) -> None:
    found = typed([{column: cell}], kind="store_checks")
    assert (found.rows[column].to_list(), reasons(found)) == ([Decimal(stored)], [])


def test_a_heading_in_another_unit_is_converted_or_told(typed) -> None:
    row = {"wall_cm": "0.3", "temperature_c": "72"}
    headings = {"wall_cm": "Wall distance (m)", "temperature_c": "Temperature (days)"}
    found = typed([row], kind="store_checks", headings=headings)
    assert found.rows["wall_cm"].to_list() == [Decimal(30)]
    assert reasons(found) == [(2, "temperature_c", "unit-does-not-fit|days")]


def test_numbers_that_were_converted_are_told(typed) -> None:
    rows = [{"net_kg": "120 lb", "gross_kg": "61.2 kg"}, {"net_kg": "60000 g"}]
    found = typed(rows).converted.select("row_no", "col", "unit").rows()
    assert found == [(2, "net_kg", "lb"), (3, "net_kg", "g")]


@pytest.mark.parametrize("cell", ["2.15/kg", "$2.15 per kg", "2.15 USD/kg", "2.15 por kilo"])
def test_a_price_with_what_it_is_for(typed, cell: str) -> None:
    found = typed([{"price_per_kg": cell}], kind="prices")
    assert (found.rows["price_per_kg"].to_list(), reasons(found)) == ([Decimal("2.15")], [])


def test_the_headings_unit_holds_where_the_cell_names_none(typed) -> None:
    found = typed([{"net_kg": "120"}, {"net_kg": "61 kg"}], headings={"net_kg": "Net (lb)"})
    assert found.rows["net_kg"].to_list() == [Decimal("54.431"), Decimal(61)]
    assert notes(found) == ["heading-unit"]


def test_a_heading_of_two_units_is_no_unit(typed) -> None:
    found = typed([{"net_kg": "120"}, {"net_kg": "120 lb"}], headings={"net_kg": "Net kg/lb"})
    assert reasons(found) == [(2, "net_kg", "unit-in-doubt|kg/lb")]
    assert found.rows["net_kg"].to_list() == [None, Decimal("54.431")]


def test_a_local_measure_weighs_what_is_declared_for_station_form_and_day(typed) -> None:
    rows = [
        {"net_kg": "3 tins"},
        {"net_kg": "3 tins", "day": "2026-06-01"},
        {"net_kg": "2.5 bidons", "form": "cherry"},
        {"net_kg": "3 tins", "form": "parchment"},
        {"net_kg": "3 tins", "station": "ARD"},
        {"net_kg": "3 tins", "form": None},
    ]
    found = typed([{"form": "fresh cherry", **row} for row in rows], book=TIN)
    assert found.rows["net_kg"].to_list() == [
        Decimal(54),
        Decimal("52.5"),
        Decimal(45),
        *[None] * 3,
    ]
    assert reasons(found) == [
        (5, "net_kg", "measure-not-declared|tin|KES, parchment, 2026-05-04"),
        (6, "net_kg", "measure-not-declared|tin|ARD, fresh cherry, 2026-05-04"),
        (7, "form", "missing"),
        (7, "net_kg", "measure-without-row|tin"),
    ]


def test_a_measure_where_a_kind_has_neither_station_nor_form_nor_day(typed) -> None:
    rows = [{"green_kg": kg} for kg in ("2 tins", "200", "3 tins")]
    found = typed(rows, kind="past_crops", book=TIN)
    assert found.rows["green_kg"].to_list() == [None, Decimal(200), None]
    unread = [of for of in reasons(found) if of[1] == "green_kg"]
    assert unread == [(row, "green_kg", "measure-without-row|tin") for row in (2, 4)]


def test_a_measure_is_declared_with_its_weight_and_authority() -> None:
    declared = settings_with(TIN).measures
    assert [(m.name, m.kg) for m in declared] == [("tin", Decimal(18)), ("tin", Decimal("17.5"))]
    with pytest.raises(SettingsError, match="authority"):
        settings_with('[[measure]]\nname = "tin"\nkg = "18"\nfrom = 2026-01-01')
    with pytest.raises(SettingsError, match="more than nought"):
        settings_with(TIN.replace('"18"', '"0"'))


@pytest.mark.parametrize(
    ("column", "cell", "why"),
    [
        ("net_kg", "3 tons", "unit-of-many-weights|tons"),
        ("net_kg", "3 livres", "unit-of-many-weights|livres"),
        ("net_kg", "3 baskets", "measure-not-declared|basket|KES, parchment, 2026-05-04"),
        ("net_kg", "3 zork", "unknown-unit|zork|kg|kg, g, lb, quintal or t"),
        ("net_kg", "3 ha", "unit-does-not-fit|ha"),
        ("net_kg", "3 %", "unit-does-not-fit|%"),
        ("moisture_pct", "11.8 kg", "unit-does-not-fit|kg"),
    ],
)
def test_units_that_are_not_taken(typed, column: str, cell: str, why: str) -> None:
    assert reasons(typed([{column: cell}])) == [(2, column, why)]


@pytest.mark.parametrize(
    "cell", ["USD 12.50", "12.50 USD", "$12.50", "$ 12.50", "US$12.50", "12.5", "12.50$"]
)
def test_the_books_currency_is_taken(typed, cell: str) -> None:
    found = typed([{"amount": cell}], kind="payments")
    assert (found.rows["amount_minor"].to_list(), reasons(found)) == ([1250], [])


def test_another_currency_is_not(typed) -> None:
    found = typed([{"amount": "12,50 €"}, {"amount": "KES 12,50"}], kind="payments")
    assert reasons(found) == [
        (2, "amount", "other-currency|€|USD"),
        (3, "amount", "other-currency|KES|USD"),
    ]
    headed = typed([{"amount": "12.50"}], kind="payments", headings={"amount": "Amount (EUR)"})
    assert reasons(headed) == [(2, "amount", "other-currency|EUR|USD")]


def test_a_price_per_pound_is_sent_back_and_one_per_kilogram_taken(typed) -> None:
    rows = [{"price_per_kg": "0.62/kg"}, {"price_per_kg": "0.62/lb"}]
    found = typed(rows, kind="prices")
    assert found.rows["price_per_kg"].to_list() == [Decimal("0.62"), None]
    assert reasons(found) == [(3, "price_per_kg", "price-per-other-unit|lb")]


def test_percent_signs_and_a_columns_own_word_are_taken(typed) -> None:
    found = typed([{"moisture_pct": "11.8 %", "bags": "2 bags"}])
    assert found.rows.select("moisture_pct", "bags").rows() == [(Decimal("11.8"), 2)]
