"""The flags of a season as a frame, to filter and sort; those of one as people read them."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import duckdb
import polars as pl

from checks.rules import BY_CODE
from pipeline.season.flags import Flag, flag_of
from pipeline.season.near import OFFERED, NearMatches
from pipeline.season.tables import season_sql
from pipeline.season.written import Place

# Gives the text of cells as their sheets wrote them: see `written_cells`.
Written = Callable[[pl.DataFrame], Mapping[Place, str]]
# What sends a row back and is not decided, for `flags(only=...)`.
OPEN_SENT_BACK = (pl.col("severity") == "send_back") & pl.col("decision").is_null()


def flags_frame(
    con: duckdb.DuckDBPyConnection, begins: Sequence[str] | None = None
) -> pl.DataFrame:
    """Return every flag of a season file as a row of `all_flags.sql`, sentences not yet said.

    `begins`: of those alone whose numbers begin so.
    """
    return con.sql(season_sql("all_flags"), params={"begins": begins}).pl()


def flags(
    con: duckdb.DuckDBPyConnection,
    money_decimals: int,
    language: str = "en",
    *,
    written: Written | None = None,
    only: pl.Expr | None = None,
    frame: pl.DataFrame | None = None,
    near: NearMatches | None = None,
) -> list[Flag]:
    """Return every flag of a season file, the costliest first; its sentences in a language.

    `written`: gives the text of cells as their sheets wrote them; without it their values are shown
    as they are stored. `only`: which flags, by the columns of `all_flags.sql`.
    `frame`, `near`: what `flags_frame` and `NearMatches` give, for one who has them already.
    """
    found = flags_frame(con) if frame is None else frame
    if only is not None:
        found = found.filter(only)
    texts: Mapping[Place, str] = {}
    if written and found.height:
        texts = written(found.filter(_typed()))
    if near is None and found["rule"].is_in(OFFERED).any():
        near = NearMatches(con)
    read = (
        flag_of(row, money_decimals, language, near=near, written=texts.get(_place(row)))
        for row in found.iter_rows(named=True)
    )
    return sorted(read, key=lambda flag: flag.rank)


def _typed() -> pl.Expr:
    """Tell which flags are on a cell that was read, and whose value nobody has amended since."""
    unread = [rule.code for rule in BY_CODE.values() if "reason" in rule.facts]
    on_cell = pl.col("value").is_not_null() & (pl.col("col") != "")
    return on_cell & ~pl.col("rule").is_in(unread) & ~pl.col("amended")


def _place(row: Mapping[str, Any]) -> Place:
    return row["sheet_no"], row["row_no"], row["col"]
