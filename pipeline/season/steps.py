"""Runs the steps of the working out, and leaves out those whose sources are as they were.

A step names what it reads and what it writes. What sheets brought is known by the sheets and the
amendments of its kind; what a step wrote, by what the step had read: so a step runs where anything
that it reads has changed, directly or through other steps, and only there.
"""

import hashlib
from collections.abc import Callable, Iterable

import duckdb

from pipeline.season.beside import Beside
from pipeline.season.reads import DAYS, DERIVED, JOURNALLED, kind_of, sources, sql_reads
from pipeline.season.tables import rows, season_sql
from pipeline.season.touched import Touched

# Under what name a step notes what else its result hangs on.
GIVEN = ""


class Steps:
    """The steps of one working out, over a season file that may have been worked out before.

    A table of DERIVED that is read before a step has written it is an error, and so are states of a
    kind before `stated` names it: LookupError. `ran`: the names of the steps that ran, each `told`
    before it runs. `touched`: the rows that changed. `cores`: how many there are; where few rows
    changed, each query has one, until a step has to go through all rows. `at_once`: steps that can
    wait are left for the next time, and nothing is done beside; `waiting` names them. `broken`: the
    laws that steps found broken in what they worked out.
    """

    def __init__(
        self,
        con: duckdb.DuckDBPyConnection,
        told: Callable[[str], None] | None = None,
        *,
        at_once: bool = False,
    ) -> None:
        self.ran: list[str] = []
        self.waiting: list[str] = []
        self.broken: list[str] = []
        self._con = con
        self._at_once = at_once
        self.touched = Touched(con)
        ((self.cores,),) = rows(con, "select current_setting('threads')")
        if self.touched.few and not at_once:
            # Over few rows a second core gains a query nothing, and is taken from who works beside.
            con.execute("set threads = 1")
        self._told = told
        self._before: dict[str, dict[str, str]] = {}
        for step, source, version in rows(con, "select step, source, version from worked"):
            self._before.setdefault(step, {})[source] = version
        self._now: dict[str, dict[str, str]] = {}
        self._written: dict[str, str] = {}
        # Tables that a step brought up to date for the rows touched alone.
        self._in_part: set[str] = set()
        self._sheets = dict(
            rows(
                con,
                "select kind, string_agg(sheet_no, ' ' order by sheet_no) from sheets "
                "where kind is not null group by kind",
            )
        )
        self._amended = dict(
            rows(
                con,
                "select kind, string_agg(decision_n, ' ' order by decision_n) from decisions "
                "where action = 'amend' group by kind",
            )
        )
        self._days = {name: str(rows(con, f"select taken_day from {name}")[0][0]) for name in DAYS}
        self._journalled: dict[str, str] = {}
        self._stated: set[str] = set()
        self._states: dict[str, str] | None = None

    def step(
        self,
        name: str,
        reads: Iterable[str],
        run: Callable[[], object],
        *,
        writes: Iterable[str] = (),
        given: object = None,
        in_part: Callable[[], object] | None = None,
        rows_of: Iterable[str] = (),
        can_wait: bool = False,
    ) -> None:
        """Run a step where what it reads has changed since it last ran.

        `reads`: names of tables and views; `given`: what else its result hangs on. `in_part`: does
        the same for the rows touched alone, where nothing changed but rows of the tables and views
        `rows_of` (GIVEN stands for `given`), and tables that were brought up to date so themselves.
        `can_wait`: nobody's state or money hangs on it, so that what it wrote may for a while be of
        an earlier line.
        """
        now = {source: _digest(self._version(source)) for source in sources(reads)} | {
            GIVEN: _digest(repr(given))
        }
        before = self._before.get(name, {})
        if now != before and self._at_once and can_wait:
            # To whom reads it, it is as it was.
            self.waiting.append(name)
            now = before
        elif now != before:
            if self._told:
                self._told(name)
            changed = {
                source for source in now.keys() | before if now.get(source) != before.get(source)
            }
            if in_part and self.touched.few and changed <= {*rows_of, *self._in_part}:
                in_part()
                self._in_part |= {*writes}
            else:
                if in_part:
                    self.use_all_cores()
                run()
            self.ran.append(name)
        self._now[name] = now
        inputs = _digest(name, *(f"{source} {now[source]}" for source in sorted(now)))
        self._written |= dict.fromkeys(writes, inputs)

    def fill(
        self,
        table: str,
        given: object = None,
        *,
        beside: Beside | None = None,
        in_part: Callable[[], object] | None = None,
        rows_of: Iterable[str] = (),
        can_wait: bool = False,
    ) -> None:
        """Fill one table by the query of its name, as a step of that name, `beside` others."""

        def fill(con: duckdb.DuckDBPyConnection) -> None:
            fill_anew(con, table, given)

        reads = sql_reads(table) - {table}
        self.step(
            table,
            reads,
            lambda: beside.begin(fill) if beside else fill(self._con),
            writes=[table],
            given=given,
            in_part=in_part,
            rows_of=rows_of,
            can_wait=can_wait,
        )

    def stated(self, *kinds: str, anew: bool) -> None:
        """Let steps read the states of these kinds; `anew`: some were set since they were asked."""
        self._stated |= {*kinds}
        if anew:
            self._states = None

    def use_all_cores(self) -> None:
        """Let queries have all cores, as over all rows they need them."""
        self._con.execute(f"set threads = {self.cores}")

    def keep(self) -> None:
        """Note what each step read, for the next working out."""
        self.use_all_cores()
        self._con.execute("delete from worked")
        read = [
            (step, source, version)
            for step, sources in sorted(self._now.items())
            for source, version in sorted(sources.items())
        ]
        steps, names, versions = zip(*read, strict=True) if read else ((), (), ())
        self._con.execute(
            "insert into worked select unnest($steps), unnest($names), unnest($versions)",
            {"steps": list(steps), "names": list(names), "versions": list(versions)},
        )
        self.touched.keep(waiting=bool(self.waiting))

    def _version(self, name: str) -> str:
        if name in DERIVED:
            if name not in self._written:
                raise LookupError(f"{name} is read before it is worked out")
            return self._written[name]
        if name in self._days:
            return self._days[name]
        if name in JOURNALLED:
            if name not in self._journalled:
                text = f"select string_agg({name}, ',' order by {name}) from {name}"
                self._journalled[name] = str(rows(self._con, text))
            return self._journalled[name]
        if name == kind_of(name):
            if name in self._sheets and name not in self._stated:
                raise LookupError(f"states of {name} are read before they are set")
            return f"{self._rows(name)} {self._states_of(name)}"
        return self._rows(kind_of(name))

    def _rows(self, kind: str) -> str:
        """Return the version of a kind's rows, and of what was noted when they were read."""
        return f"{self._sheets.get(kind, '')}/{self._amended.get(kind, '')}"

    def _states_of(self, kind: str) -> str:
        if self._states is None:
            text = (
                "select kind, concat_ws(' ', count(*), sum(hash(sheet_no, row_no, state))) "
                "from exceptions group by kind"
            )
            self._states = dict(rows(self._con, text))
        return self._states.get(kind, "")


def fill_anew(con: duckdb.DuckDBPyConnection, table: str, given: object = None) -> None:
    """Empty a table and fill it by the query of its name."""
    con.execute(f"delete from {table}")
    con.execute(season_sql(table), given)


def _digest(*parts: str) -> str:
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()
