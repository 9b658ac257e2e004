"""Which rows are other than they were when a season was last worked out, and whose they are.

Rows of sheets that came in and of their earlier versions, rows that were decided on, and rows whose
state changed. A step that rests on each member's own rows alone then runs for these members only.
"""

from collections.abc import Iterable

import duckdb

from pipeline.intake.kinds import kinds
from pipeline.season.tables import rows, season_sql

# Columns that name a member whose money a row moves.
MEMBERS = ("member_no", "other_member")
# With more rows touched than one in so many, working all out is no dearer than finding whose.
ONE_IN = 5


class Touched:
    """The rows of a season file that changed since it was last worked out.

    `few`: whether it pays to look at them alone; where not, the others are not found at all. Rows
    are kept in the temp table `touched`: kind, sheet_no, row_no.
    """

    def __init__(self, con: duckdb.DuckDBPyConnection) -> None:
        self._con = con
        con.execute(
            "create or replace temp table touched (kind varchar, sheet_no integer, row_no integer)"
        )
        con.execute("create or replace temp table states_before as select * from exceptions")
        con.execute(season_sql("sheets_touched"))
        come, gone, arrived, seen = rows(con, season_sql("how_much_came"))[0]
        self.few = not gone and seen > 0 and come * ONE_IN < arrived
        if self.few:
            for kind, sheets in rows(
                con, "select kind, list(sheet_no) from sheets_touched group by kind"
            ):
                self._note(
                    f"select '{kind}', sheet_no, row_no from rows_{kind} "
                    "where list_contains($sheets, sheet_no)",
                    {"sheets": sheets},
                )
            self._note(season_sql("decided_since"))

    def note_states(self, kind: str) -> None:
        """Add the rows of a kind whose state is another than before, now that it is set."""
        if self.few:
            self._note(season_sql("states_changed"), {"kind": kind})

    def members(self, of: Iterable[str]) -> list[str]:
        """Return whose rows of some kinds were touched, in order, also where they were before."""
        found: set[str] = set()
        for kind in of:
            for column in (name for name in MEMBERS if kinds()[kind].has(name)):
                found |= {no for (no,) in rows(self._con, _whose(kind, column)) if no}
                found |= {no for (no,) in rows(self._con, _WAS, [kind, column]) if no}
        return sorted(found)

    def _note(self, query: str, given: object = None) -> None:
        self._con.execute(f"insert into touched {query}", given)


def keep_seen(con: duckdb.DuckDBPyConnection) -> None:
    """Note the sheets and decisions that a season is now worked out from."""
    con.execute("delete from seen_sheets")
    con.execute("insert into seen_sheets select sheet_no from sheets")
    con.execute("delete from seen_decisions")
    con.execute(
        "insert into seen_decisions select decision_n, flag, kind, sheet_no, row_no from decisions"
    )


def _whose(kind: str, column: str) -> str:
    return (
        f"select distinct r.{column} from rows_{kind} as r inner join touched as t "
        f"on t.kind = '{kind}' and t.sheet_no = r.sheet_no and t.row_no = r.row_no"
    )


# An amended number was another's before.
_WAS = "select distinct old_value from decisions where kind = ? and col = ? and action = 'amend'"
