-- Grain: one row per sheet whose rows in the file are not the rows that arrived, or not each in one state. A row is
-- counted unless `exceptions` names another state, so that each has one where none is named twice; in_states
-- counts a row once a state. $sheets: those that are looked at, null for all.
with stored as (
    select sheet_no, sum(stored) as stored from stored_rows group by sheet_no
),
twice as (
    select sheet_no, sum(times - 1) as more
    from (
        select sheet_no, count(*) as times from exceptions group by kind, sheet_no, row_no having count(*) > 1
    )
    group by sheet_no
)
select
    s.sheet_no, s.name, s.arrived,
    cast(coalesce(r.stored, 0) + coalesce(t.more, 0) as bigint) as in_states
from sheets as s
left join stored as r on r.sheet_no = s.sheet_no
left join twice as t on t.sheet_no = s.sheet_no
-- A sheet of no known kind has no typed rows: all that arrived in it waits for the clerk.
where s.kind is not null and (coalesce(r.stored, 0) <> s.arrived or t.more is not null)
    and ($sheets is null or list_contains(cast($sheets as integer[]), s.sheet_no))
order by s.sheet_no
