"""Cards of lots put straight into a season's tables, and their steps as they are worked out."""

from collections.abc import Generator
from contextlib import contextmanager
from datetime import date
from decimal import Decimal
from typing import Any

import duckdb

from pipeline.season.tables import dicts, season_sql
from tests.season.small import empty_season, put
from tests.take.small import SETTINGS

NAMED = ("water_g", "parts_g", "sorted_g", "handling_g", "loss_g")


@contextmanager
def season(more: str = "") -> Generator[duckdb.DuckDBPyConnection]:
    """An empty season whose book.toml says `more` than those of the small books."""
    with empty_season(SETTINGS + more) as con:
        yield con


def line(
    con: duckdb.DuckDBPyConnection,
    lot_no: str,
    step: str,
    form: str,
    kg_in: str = "",
    kg_out: str = "",
    **cells: Any,
) -> None:
    """Write the next line on a lot's card; "" is an empty cell."""
    found = con.execute("select count(*) from rows_lots where lot_no = ?", [lot_no]).fetchall()
    given: dict[str, Any] = {
        "lot_no": lot_no,
        "line": int(found[0][0]) + 1,
        "step": step,
        "station": "KES",
        "day": date(2026, 5, 4),
        "species": "arabica",
        "form": form,
        "kg_in": Decimal(kg_in) if kg_in else None,
        "kg_out": Decimal(kg_out) if kg_out else None,
    }
    put(con, "lots", **given | cells)


def steps(con: duckdb.DuckDBPyConnection) -> list[dict[str, Any]]:
    """Work the steps out and return them, in order; each names its whole difference."""
    for table in ("coffee_days", "lot_steps"):
        con.execute(f"delete from {table}")
    con.execute(season_sql("coffee_days"))
    con.execute(season_sql("lot_steps"))
    found = dicts(con, "from lot_steps order by lot_no, seq")
    for one in found:
        if one["in_g"] is not None:
            away = sum(one[name] for name in NAMED) - one["gain_g"]
            assert one["in_g"] == one["out_g"] + away, one
    return found


def named(step: dict[str, Any]) -> dict[str, int]:
    """What a step names, where it is not nought."""
    return {name: step[name] for name in (*NAMED, "gain_g") if step[name]}
