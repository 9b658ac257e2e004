"""How long a large season's money takes: all of it, and a week that comes into it."""

import tempfile
import time
from importlib import resources
from pathlib import Path
from typing import Any

import duckdb

from pipeline.intake.kinds import kinds
from pipeline.season.filled import hold_all
from pipeline.season.paid import post_money, value_coffee
from pipeline.season.schema import create_tables
from pipeline.season.steps import Steps
from pipeline.season.tables import connect, rows, season_sql
from pipeline.season.written_settings import write_settings
from pipeline.settings import Settings, read_settings

DELIVERIES, MEMBERS, WEEK_ROWS = 1_000_000, 100_000, 5_000
THREADS = 2


def _settings() -> Settings:
    text = resources.files("pipeline.bench").joinpath("money_book.toml").read_text("utf-8")
    return read_settings(text)


def bench_money(
    *, deliveries: int = DELIVERIES, members: int = MEMBERS, week_rows: int = WEEK_ROWS
) -> dict[str, Any]:
    """Measure on two threads; `full_s`: priced, deducted, posted, totalled; `week_s`: a week more.

    A third of the members have inputs on credit, all contribute to shares up to a target. `ok`
    tells that the money adds up after both, and that the week alone gives what all of it gives.
    """
    settings = _settings()
    with (
        tempfile.TemporaryDirectory(prefix="weighbook-bench-") as folder,
        connect(
            str(Path(folder) / "money.duckdb"), read_only=False, macros=True, threads=THREADS
        ) as con,
    ):
        create_tables(con)
        hold_all(con)
        write_settings(con, settings, "2026")
        drawn = {"deliveries": deliveries, "members": members}
        _draw(con, "draw_money", drawn)
        con.execute("checkpoint")
        full_s = _timed(con, lambda: _work_out(con, settings))
        _draw(con, "draw_week", {"rows": week_rows, "members": members})
        week_s = _timed(con, lambda: _work_out(con, settings))
        faults = rows(con, season_sql("money_not_conserved"))
        alone = _digest(con)
        con.execute("delete from worked")
        _work_out(con, settings)
        return {
            "ok": not faults and alone == _digest(con),
            "full_s": round(full_s, 2),
            "week_s": round(week_s, 2),
            "deliveries": deliveries,
            "members": members,
            "week_rows": week_rows,
            "movements": rows(con, "select count(*) from transfers")[0][0],
            "faults": faults,
        }


def _sql(name: str) -> str:
    return resources.files("pipeline.bench").joinpath(f"sql/{name}.sql").read_text("utf-8")


def _draw(con: duckdb.DuckDBPyConnection, name: str, drawn: dict[str, int]) -> None:
    """Run the statements of a file, each with those of the numbers that it names."""
    for statement in _sql(name).split(";\n"):
        if statement.strip():
            con.execute(statement, {k: v for k, v in drawn.items() if f"${k}" in statement})


def _timed(con: duckdb.DuckDBPyConnection, work: Any) -> float:
    began = time.perf_counter()
    con.execute("begin transaction")
    work()
    con.execute("commit")
    return time.perf_counter() - began


def _work_out(con: duckdb.DuckDBPyConnection, settings: Settings) -> None:
    """Price, deduct, post and total as every take does: all, or what has changed since."""
    steps = Steps(con)
    # No rule has looked at these rows: all count.
    steps.stated(*kinds(), anew=True)
    value_coffee(con, steps, settings)
    post_money(con, steps, settings)
    steps.keep()


def _digest(con: duckdb.DuckDBPyConnection) -> list[tuple[Any, ...]]:
    return rows(
        con,
        "select 'transfers', count(*), sum(amount_minor), bit_xor(hash(transfers)) from transfers "
        "union all select 'untaken', count(*), sum(amount_minor), bit_xor(hash(untaken)) "
        "from untaken union all "
        "select 'members', count(*), sum(balance_minor), bit_xor(hash(member_season)) "
        "from member_season order by 1",
    )
