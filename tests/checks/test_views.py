"""The views that rules look through: of all rows of a kind, and of a few that were named."""

import pytest

from checks.views import few_sql, view_sql
from pipeline.intake.kinds import kinds


@pytest.mark.parametrize("kind", kinds())
def test_the_view_of_a_few_is_that_of_all_over_fewer_rows(kind: str) -> None:
    few = few_sql(kind)
    assert few.count(f"view picked_{kind} as") == few.count(f"view few_{kind} as") == 1
    assert f"from (from rows_{kind} semi join picked using (sheet_no, row_no)) r" in few
    assert f"view check_{kind}" not in few
    assert f"from live_{kind} as r" not in few
    assert "weight_of_" not in few
    # Where more stands beside few rows, the view of these is named apart.
    name = f"bare_{kind}" if f"view bare_{kind} as" in few else f"few_{kind}"
    of_few, _, _ = view_sql(kind).partition("create or replace temp view weight_of_")
    assert (
        of_few.replace(f"view check_{kind} as", f"view {name} as").replace(
            f"from live_{kind} as r", f"from picked_{kind} as r"
        )
        in few
    )
