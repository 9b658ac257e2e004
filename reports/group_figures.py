"""The sections of the group report on yield, income, practice and the crop to come."""

from __future__ import annotations

import duckdb

from pipeline.yields.whole import whole
from reports.facts import Row
from reports.group_income import income_section, since_section
from reports.group_next import next_section
from reports.group_practice import pest_section, practice_section, training_section
from reports.group_yield import yield_section
from reports.statement_parts import Voice


def figure_sections(v: Voice, con: duckdb.DuckDBPyConnection) -> list[Row]:
    """All sections in their order; one that has nothing to say is left out."""
    found = whole(con)
    made = [
        yield_section(v, found),
        income_section(v, found),
        since_section(v, found),
        practice_section(v, found),
        training_section(v, found),
        pest_section(v, found),
        next_section(v, found),
    ]
    return [one for one in made if one["parts"]]
