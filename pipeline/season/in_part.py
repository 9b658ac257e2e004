"""Works steps out again for what a change touches: for some members, or for some rows of a kind."""

from collections.abc import Iterable

import duckdb

from checks.engine import find_rows, find_season, looks_at, rules_on
from checks.near import HANGS, hangs_on
from checks.rule import ROWS, Stage
from checks.views import few_sql, of_kind, rule_sql
from pipeline.intake.kinds import kinds
from pipeline.season.beside import Beside
from pipeline.season.only import only, only_joined
from pipeline.season.reads import kind_of, reads_of, sources, sql_reads
from pipeline.season.steps import GIVEN, Steps
from pipeline.season.tables import rows, season_sql

# Tables that steps write, a member's rows of which rest on that member's rows of what they read.
OF_MEMBERS = ("member_coffee", "member_season", "block_yield", "member_cost")
WITH_MEMBERS = tuple(kind for kind in kinds() if kinds()[kind].has("member_no"))
WHOSE = "member_no in (select member_no from touched_members)"
MATCH_SQL = (
    "match_records",
    "match_weighed",
    "match_named",
    "match_plain",
    "match_candidates",
    "match_pairs",
    "match_due",
    "match_near",
    "match_receipts",
    "receipts_named",
    "receipts_of_two",
)


def fill_by_member(steps: Steps, table: str, beside: Beside, given: object = None) -> None:
    """Fill a table that can wait, each member's rows of which rest on that member's own rows."""

    def of_some(con: duckdb.DuckDBPyConnection) -> None:
        con.execute(f"delete from {table} where {WHOSE}")
        read = sql_reads(table) - {table}
        with only(con, read & {*WITH_MEMBERS, *OF_MEMBERS}, WHOSE):
            con.execute(season_sql(table), given)

    def in_part() -> None:
        steps.touched.fill_members()
        beside.begin(of_some)

    steps.fill(table, given, beside=beside, in_part=in_part, rows_of=WITH_MEMBERS, can_wait=True)


def fill_by_day(
    con: duckdb.DuckDBPyConnection, steps: Steps, table: str, beside: Beside, *, span: str = "day"
) -> None:
    """Fill a table that can wait, of what stations weighed a day; after a change, of its days.

    `span`: "day" or "week", as the table's column is named that holds the first day.
    """

    def of_spans(con: duckdb.DuckDBPyConnection) -> None:
        con.execute(season_sql("touched_days"), {"span": span})
        touched = f"(station, {span}) in (select (station, since) from touched_days)"
        con.execute(f"delete from {table} where {touched}")
        # Rows lie nearly in the order of their days, so that few of these are found at once: one by
        # one, since a day that was written wrong lies far from all others.
        of_days = "few.station = r.station and few.day = r.day"
        which = "r.day in (select day from touched_days)"
        with only_joined(con, ["weighings"], "touched_days", of_days, which):
            con.execute(season_sql(table))

    steps.fill(
        table,
        in_part=(lambda: beside.begin(of_spans)) if steps.touched.keys_stay else None,
        rows_of=["weighings"],
        can_wait=True,
    )


def fill_by_sheet(con: duckdb.DuckDBPyConnection, steps: Steps, table: str) -> None:
    """Fill a table of what sheets of weighings have rows of; after a change, of those touched."""
    sheets = "sheet_no in (select sheet_no from touched where kind = 'weighings')"

    def in_part() -> None:
        con.execute(f"delete from {table} where {sheets}")
        with only(con, ["rows_weighings"], sheets):
            con.execute(season_sql(table))

    steps.fill(table, in_part=in_part, rows_of=["rows_weighings"])


def match(con: duckdb.DuckDBPyConnection, steps: Steps, beside: Beside) -> None:
    """Match members' records with what was weighed, beside others."""
    written = ("matched", "unmatched", "receipts_shared")

    def whole(con: duckdb.DuckDBPyConnection) -> None:
        from pipeline.season.match import match_season

        for table in written:
            con.execute(f"delete from {table}")
        match_season(con)
        _drop(con, MATCH_SQL)

    def of_some(con: duckdb.DuckDBPyConnection) -> set[str]:
        from pipeline.season.match import match_members

        found = match_members(con)
        con.execute(
            "insert into touched_members "
            "select member_no, 'matched' from match_members where member_no is not null"
        )
        _drop(con, MATCH_SQL)
        return found

    def in_part() -> None:
        steps.touched.fill_members()
        beside.begin(of_some, steps.touched.note_members)

    steps.step(
        "match",
        sql_reads(*MATCH_SQL, "matched", "unmatched") - {*written},
        lambda: whole(con),
        writes=written,
        given=rows(con, "from records_left_out order by all"),
        in_part=in_part if steps.touched.keys_stay else None,
        # A row that was left out is touched as well.
        rows_of=(*WITH_MEMBERS, "live_deliveries", "rows_weighings", "rows_deliveries", GIVEN),
        can_wait=True,
    )


def _drop(con: duckdb.DuckDBPyConnection, made: Iterable[str]) -> None:
    """Drop what a step made for itself: it would be held until the season is worked out."""
    for table in made:
        con.execute(f"drop table if exists {table}")


def look(
    con: duckdb.DuckDBPyConnection, steps: Steps, kind: str, stage: Stage, beside: Beside
) -> None:
    """Run the rules of one stage over a kind, over all its rows or where some changed."""
    find, name = (find_rows, "rules") if stage == ROWS else (find_season, "notes")
    reads = sources(reads_of(looks_at(kind, stage)))

    def near() -> None:
        steps.touched.fill_members()
        beside.begin(lambda con: find(con, kind, in_part=steps.touched.keys_stay))

    steps.step(
        f"{name} on {kind}",
        reads,
        lambda: beside.begin(lambda con: find(con, kind)),
        in_part=near if kind in HANGS else None,
        rows_of=_rows_of(kind, stage, reads),
        can_wait=stage != ROWS,
    )


def _rows_of(kind: str, stage: Stage, reads: set[str]) -> set[str]:
    """Return, of what the rules of a stage read, that after whose change some rows will do."""
    found = reads
    # What flags tell of a row is fetched from these, whichever query found it.
    told = {source for source in sources(reads_of(few_sql(kind))) if not kind_of(source)}
    for query in {rule.query for rule in rules_on(kind, stage)} & HANGS.get(kind, {}).keys():
        texts = [of_kind(rule_sql(query), kind)] if query else [f"check_{kind}"]
        for source in sources(reads_of(*texts)) | told:
            other = kind_of(source)
            if not other or not hangs_on(query, kind, other):
                found = found - {source}
    return found
