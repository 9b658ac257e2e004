"""The views that rules look through: of all rows of a kind, and of a few that were named."""

import pytest

from checks.views import few_sql, view_sql
from pipeline.intake.kinds import kinds


@pytest.mark.parametrize("kind", kinds())
def test_the_view_of_a_few_is_that_of_all_over_fewer_rows(kind: str) -> None:
    few = few_sql(kind)
    assert few.count("semi join picked") == 1
    assert few.count(f"view few_{kind} as") == 1
    assert f"view check_{kind}" not in few
    assert "weight_of_" not in few
    alike = few.replace(
        f"from (from live_{kind} semi join picked using (sheet_no, row_no)) as r",
        f"from live_{kind} as r",
    ).replace(f"view few_{kind}", f"view check_{kind}")
    assert view_sql(kind).startswith(alike)
