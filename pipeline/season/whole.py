"""Whether a season file is whole: in a large season a decision leaves comparisons for later."""

import re

import duckdb

from pipeline.season.tables import rows

# Tables whose steps can wait, since nobody's state or money hangs on them.
LATER = frozenset(
    (
        *("matched", "unmatched", "receipts_shared", "plot_overlaps"),
        *("scale_days", "weight_weeks", "coffee_days", "moisture_days"),
        *("lot_steps", "coffee_moves", "coffee_origins", "coffee_aside"),
        *("member_yield", "block_yield", "member_cost", "member_margin"),
    )
)


def is_whole(con: duckdb.DuckDBPyConnection) -> bool:
    """Tell whether nothing of a season file waits; one of an older version is to be made anew."""
    try:
        return bool(rows(con, "select whole from file_facts")[0][0])
    except duckdb.BinderException:
        return False


def reads_later(text: str) -> bool:
    """Tell whether a query names a table that may be of an earlier line."""
    return not LATER.isdisjoint(re.findall(r"[a-z_]+", re.sub(r"--.*", "", text)))
