"""A heading is recognised without the unit it ends in: that unit must then be converted or told."""

from decimal import Decimal

import pytest

from pipeline.intake.kinds import BARE_UNITS, BRACKET_UNITS, kinds, normal_heading
from pipeline.intake.units import MEASURES, heading_units, spellings
from tests.intake.conftest import column_of


@pytest.mark.parametrize("column_type", sorted(MEASURES))
def test_every_unit_that_a_heading_may_end_in_is_seen(column_type: str) -> None:
    """What recognition drops, typing sees: no unit can pass unseen for the column's own."""
    for unit in sorted(BRACKET_UNITS | BARE_UNITS):
        heading = f"Net ({unit})"
        assert normal_heading(heading) == "net", unit
        assert heading_units(column_of(column_type), heading), unit


@pytest.mark.parametrize(
    ("heading", "reason"),
    [
        ("Peso neto (libras)", "unit-of-many-weights"),
        ("Net (arrobas)", "unit-of-many-weights"),
        ("Net (ha)", "unknown-unit"),
        ("Net (%)", "unknown-unit"),
    ],
)
def test_a_unit_that_cannot_be_converted_sends_its_cells_back(
    typed, heading: str, reason: str
) -> None:
    found = typed([{"net_kg": "120"}], headings={"net_kg": heading})
    assert found.rows["net_kg"].to_list() == [None]
    assert [told.partition("|")[0] for told in found.unreadable["reason"]] == [reason]


def test_every_stored_unit_and_every_known_one_still_counts(typed) -> None:
    for heading, kg in (("Net (kg)", "120"), ("Net lb", "54.431"), ("Poids net, kg", "120")):
        found = typed([{"net_kg": "120"}], headings={"net_kg": heading})
        assert found.rows["net_kg"].to_list() == [Decimal(kg)], heading
    assert "lb" in spellings("weight").values() and kinds()
