"""Sums that DuckDB 2.0.1 gets wrong unless one of its optimizers is kept away."""

from pipeline.season.tables import connect, rows

# 30 000 + 30 000 came back as 96, and a filter on the sum dropped its row.
RECORDS = """
create type state as enum ('counted', 'held');
create table record (who varchar, cost bigint, sheet_no integer, row_no integer);
insert into record values ('a', 30000, 2, 1), ('a', 30000, 2, 2);
create table exempt (
    kind varchar not null, sheet_no integer not null, row_no integer not null, state state not null
);
create table member (who varchar);
insert into member values ('a'), ('b'), ('c');
"""
SUMS = """
with kept as (
    select r.*, coalesce(e.state, 'counted'::state) as state
    from record as r
    left join exempt as e on e.kind = 'f' and e.sheet_no = r.sheet_no and e.row_no = r.row_no
),
total as (
    select who, cast(coalesce(sum(cost), 0) as bigint) as cost
    from kept
    group by who
)
select m.who, t.cost
from member as m
left join total as t on t.who = m.who
"""


def test_a_sum_survives_a_join_and_an_order() -> None:
    with connect(":memory:", read_only=False) as con:
        con.execute(RECORDS)
        assert rows(con, f"{SUMS} order by m.who") == [("a", 60000), ("b", None), ("c", None)]


def test_a_filter_on_a_sum_keeps_its_row() -> None:
    with connect(":memory:", read_only=False) as con:
        con.execute(RECORDS)
        assert rows(con, f"{SUMS} where t.cost > 50000") == [("a", 60000)]
