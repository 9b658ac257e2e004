"""One member's trees, coffee, costs and cash, and the crop still to come."""

from dataclasses import dataclass
from typing import Any

import duckdb

from pipeline.errors import FigureError
from pipeline.yields.people import rows_of

Rows = list[dict[str, Any]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Farm:
    """Rows of the queries `sql/member_*.sql` for one member; `margin` has one row."""

    member_no: str
    blocks: Rows
    forms: Rows
    past: Rows
    costs: Rows
    margin: dict[str, Any]
    cash: Rows
    day_value_minor: int | None
    after_family_minor: int | None


def farm(
    con: duckdb.DuckDBPyConnection, member: str, *, day_value_minor: int | None = None
) -> Farm:
    """Return a member's figures; FigureError for a number that is not in the register.

    `day_value_minor`: what a day of family work is to be valued at, where somebody asks for it; it
    is then taken off the margin that is left after the tools.
    """
    found = rows_of(con, "member_margin_of", member=member)
    if not found:
        raise FigureError(f"There is no member {member!r} in the register of this season.")
    (margin,) = found
    after: int | None = None
    if day_value_minor is not None and margin["after_fixed_minor"] is not None:
        days = margin["family_days"] or 0
        after = margin["after_fixed_minor"] - int(days * 10) * day_value_minor // 10
    return Farm(
        member_no=member,
        blocks=rows_of(con, "member_blocks", member=member),
        forms=rows_of(con, "member_forms", member=member),
        past=rows_of(con, "member_past", member=member),
        costs=rows_of(con, "member_costs", member=member),
        margin=margin,
        cash=rows_of(con, "member_cash", member=member),
        day_value_minor=day_value_minor,
        after_family_minor=after,
    )
