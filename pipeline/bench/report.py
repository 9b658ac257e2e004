"""How long a large cooperative's figures on yield, income, practice and crop take."""

import tempfile
import time
from importlib import resources
from pathlib import Path
from typing import Any

from pipeline.season.filled import hold_all
from pipeline.season.schema import create_tables
from pipeline.season.tables import connect, season_sql
from pipeline.season.written_settings import write_settings
from pipeline.settings import read_settings

MEMBERS, THREADS = 100_000, 2


def bench_report(members: int = MEMBERS) -> dict[str, Any]:
    """Measure on two threads; `seconds`: all figures of the group report's yield and money parts.

    `steps_s`: what a season's refresh needs for blocks, costs and margins. The season is drawn into
    a file's tables; everything after goes the way of the report.
    """
    from pipeline.yields.whole import whole

    settings = read_settings(
        resources.files("pipeline.bench").joinpath("money_book.toml").read_text("utf-8")
    )
    with tempfile.TemporaryDirectory(prefix="weighbook-bench-") as folder:
        path = str(Path(folder) / "report.duckdb")
        with connect(path, read_only=False, macros=True, threads=THREADS) as con:
            create_tables(con)
            hold_all(con)
            write_settings(con, settings, "2026")
            text = resources.files("pipeline.bench").joinpath("sql/draw_yield.sql")
            for statement in text.read_text("utf-8").split(";\n"):
                if statement.strip():
                    given = {"members": members} if "$members" in statement else None
                    con.execute(statement, given)
            began = time.perf_counter()
            for table in ("block_yield", "member_yield", "costs_apart"):
                con.execute(season_sql(table))
            con.execute(season_sql("member_margin"), {"decimals": settings.decimals})
            steps = time.perf_counter() - began
            con.execute("checkpoint")
        with connect(path, macros=True, threads=THREADS) as con:
            began = time.perf_counter()
            found = whole(con)
            took = time.perf_counter() - began
    return {
        "seconds": round(took, 2),
        "steps_s": round(steps, 2),
        "members": members,
        "spreads": len(found.yields) + len(found.incomes),
        "trainings": len(found.trainings),
        "stations": len(found.crop.stations) if found.crop else 0,
    }
