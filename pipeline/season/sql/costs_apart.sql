-- Grain: one row per row of `cost_rows` that does not count, or is doubtful. What a visit recalls does not count where
-- the member's own record holds the same work in the time recalled; nor a note where that record holds a cost for
-- the same item within input_record_days of it (one entry answers one line). Doubtful: over cost_held_times the
-- middle cost of that work among enough members, and nobody decided to count it.
insert into costs_apart
with recorded as not materialized (
    from cost_rows where source = 'record'
),
told as not materialized (
    from cost_rows where source <> 'credit' and cost_minor > 0
),
here as (
    select input_record_days, cost_held_times, peers_least
    from limits_here
    where station = '' and species = '' and form = ''
),
-- The nearest entry of the record answers a line of a note, and each but one.
answered as (
    select 'credit' as kind, sheet_no, row_no
    from (
        select
            g.kind, g.sheet_no, g.row_no, r.sheet_no as by_sheet_no, r.row_no as by_row_no,
            abs(r.day - g.day) as apart
        from cost_rows as g
        cross join here as l
        inner join recorded as r
            on r.member_no = g.member_no and r.cost_minor > 0
            and lower(trim(r.item)) = lower(trim(g.item)) and abs(r.day - g.day) <= l.input_record_days
        where g.source = 'credit'
    )
    qualify row_number() over (partition by by_sheet_no, by_row_no order by apart, kind, sheet_no, row_no) = 1
        and row_number() over (partition by kind, sheet_no, row_no order by apart, by_sheet_no, by_row_no) = 1
),
overlapping as (
    select distinct v.kind, v.sheet_no, v.row_no
    from cost_rows as v
    inner join recorded as r
        on r.member_no = v.member_no and r.activity = v.activity and r.day between v.since and v.day
    where v.source = 'visit'
),
usual as (
    select source, activity, cast(median(cost_minor) as bigint) as middle_minor
    from told
    group by source, activity
),
-- Members are counted only for the few works that anything is far from.
far as (
    select t.source, t.activity, t.kind, t.sheet_no, t.row_no
    from told as t
    inner join usual as u on u.source = t.source and u.activity = t.activity
    cross join here as l
    where t.cost_minor > l.cost_held_times * u.middle_minor
),
writers as (
    select source, activity, count(distinct member_no) as members
    from told
    inner join (select distinct source, activity from far) using (source, activity)
    group by source, activity
),
-- What somebody decided to count as it is.
stands as (
    select distinct kind, sheet_no, row_no
    from decisions
    where action = 'count' and rule = 'cost-far-from-peers'
),
doubtful as (
    select f.kind, f.sheet_no, f.row_no
    from far as f
    inner join writers as w on w.source = f.source and w.activity = f.activity
    cross join here as l
    anti join stands as s on s.kind = f.kind and s.sheet_no = f.sheet_no and s.row_no = f.row_no
    where w.members >= l.peers_least
)
select kind, sheet_no, row_no, bool_and(counts) as counts, bool_or(doubtful) as doubtful
from (
    select *, false as counts, false as doubtful from answered
    union all
    select *, false, false from overlapping
    union all
    select *, true, true from doubtful
)
group by kind, sheet_no, row_no
order by kind, sheet_no, row_no
