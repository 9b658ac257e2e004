"""The cases of every kind that has cases of its own, gathered."""

from tests.checks.cases import Case
from tests.checks.farm import FARM_RECORD, PAYMENTS
from tests.checks.registers import MEMBERS, PLOTS, PRICES
from tests.checks.weights import DELIVERIES, WEIGHINGS

CASES: dict[str, list[Case]] = {
    "members": MEMBERS,
    "plots": PLOTS,
    "prices": PRICES,
    "weighings": WEIGHINGS,
    "deliveries": DELIVERIES,
    "farm_record": FARM_RECORD,
    "payments": PAYMENTS,
}

# One required column of each kind, left out of a sheet of its own.
LEFT_OUT = {
    "members": "village",
    "plots": "area_ha",
    "prices": "list_no",
    "weighings": "scale",
    "deliveries": "kg",
    "farm_record": "activity",
    "payments": "method",
}
