"""Which rows are other than they were when a season was last worked out, and whose they are.

Rows of sheets that came in and of their earlier versions, rows that were decided on, and rows whose
state changed. A step that rests on each member's own rows alone then runs for these members only.
"""

from collections.abc import Generator, Iterable
from contextlib import contextmanager

import duckdb

from checks.near import MEMBERS
from pipeline.intake.kinds import kinds
from pipeline.season.tables import rows, season_sql

# Columns other than a member's number by which rows hang together, and days.
KEYS = sorted(
    {"day", "station", "receipt_book", *(name for kind in kinds().values() for name in kind.key)}
)
# With more rows touched than one in so many, working all out is no dearer than finding whose.
ONE_IN = 5


class Touched:
    """The rows of a season file that changed since it was last worked out.

    `few`: whether it pays to look at them alone; where not, the others are not found at all. Rows
    are kept in the temp table `touched`: kind, sheet_no, row_no; whose they are, once that is
    asked, in `touched_members`. `keys_stay`: no cell was amended by which rows hang together.
    `paid`: the members whose money was worked out again, None for all.
    """

    def __init__(self, con: duckdb.DuckDBPyConnection) -> None:
        self._con = con
        self.paid: list[str] | None = []
        con.execute("create or replace temp table touched as select * from touched_waiting")
        _know_none_near(con)
        con.execute(season_sql("sheets_touched"))
        come, gone, arrived, seen = rows(con, season_sql("how_much_came"))[0]
        self.few = not gone and seen > 0 and come * ONE_IN < arrived
        self.keys_stay = not rows(con, season_sql("keys_amended"), {"keys": KEYS})
        self._also: set[str] = set()
        # What was found of whose rows are touched, as long as no more are.
        self._found: dict[str, list[str]] = {}
        self._filled = False
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

    @contextmanager
    def noting_states(self, kind: str) -> Generator[None]:
        """Add the rows of a kind whose state is another after this than it was before."""
        if not self.few:
            yield
            return
        self._con.execute(
            "create or replace temp table states_before as from exceptions where kind = ?", [kind]
        )
        yield
        self._note(season_sql("states_changed"), {"kind": kind})

    def note_members(self, members: Iterable[str]) -> None:
        """Add members about whose rows something is known now that was not before."""
        self._filled = False
        self._also |= {*members}

    def members(self, of: Iterable[str]) -> list[str]:
        """Return whose rows of some kinds were touched, in order, also where they were before."""
        return sorted({no for no, _ in self._whose(of)})

    def fill_members(self) -> None:
        """Let `touched_members` hold whose rows of which kind were touched, as far as is known."""
        if self._filled:
            return
        self._filled = True
        whose = [*self._whose(kinds()), *((no, "matched") for no in sorted(self._also))]
        self._con.execute(
            "create or replace temp table touched_members as "
            "select unnest($whose) as member_no, unnest($through) as through",
            {"whose": [no for no, _ in whose], "through": [name for _, name in whose]},
        )

    def lend(self, con: duckdb.DuckDBPyConnection) -> None:
        """Let another connection to the file know what is touched; of rows near it knows none."""
        self.fill_members()
        for table in ("touched", "touched_members"):
            con.register("lent", self._con.sql(f"from {table}").to_arrow_table())
            con.execute(f"create temp table {table} as from lent")
            con.unregister("lent")
        _know_none_near(con)

    def _whose(self, of: Iterable[str]) -> list[tuple[str, str]]:
        """Return members, each with the kind of theirs that was touched; some more than once."""
        if not self._found:
            here = {kind for (kind,) in rows(self._con, "select distinct kind from touched")}
            amended = {kind for (kind,) in rows(self._con, _AMENDED)}
            for kind in kinds():
                numbers: list[tuple[str | None]] = []
                for column in (name for name in MEMBERS if kinds()[kind].has(name)):
                    if kind in here:
                        numbers += rows(self._con, _whose(kind, column))
                    if kind in amended:
                        numbers += rows(self._con, _WAS, [kind, column])
                self._found[kind] = [no for (no,) in numbers if no]
        return [(no, kind) for kind in of for no in self._found[kind]]

    def sheets(self) -> dict[str, list[int]]:
        """Return, of each kind, the sheets that have rows which were touched."""
        text = "select kind, list(distinct sheet_no) from touched group by kind"
        return dict(rows(self._con, text))

    def keep(self, *, waiting: bool) -> None:
        """Note what a season is now worked out from; where steps wait, what these have not seen."""
        self._con.execute("delete from touched_waiting")
        if waiting:
            self._con.execute("insert into touched_waiting select distinct * from touched")
        else:
            self._con.execute(season_sql("seen"))

    def _note(self, query: str, given: object = None) -> None:
        ((more,),) = rows(self._con, f"insert into touched {query}", given)
        if more:
            self._found.clear()
            self._filled = False


def _know_none_near(con: duckdb.DuckDBPyConnection) -> None:
    """Let a connection know of no rows near to those that are touched."""
    con.execute("create or replace temp table near_kept (kind varchar)")


def _whose(kind: str, column: str) -> str:
    return (
        f"select distinct r.{column} from rows_{kind} as r inner join touched as t "
        f"on t.kind = '{kind}' and t.sheet_no = r.sheet_no and t.row_no = r.row_no"
    )


_AMENDED = "select distinct kind from decisions where action = 'amend'"
# An amended number was another's before.
_WAS = "select distinct old_value from decisions where kind = ? and col = ? and action = 'amend'"
