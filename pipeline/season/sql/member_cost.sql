-- Grain: one row per counted row of a farm record or visit that names a cost or days of work. What a visit
-- recalls does not count where the member's own record holds the same work in the time recalled. Doubtful:
-- over cost_held_times the middle cost of that work among enough members, and nobody decided to count it.
insert into member_cost
with told as (
    select
        member_no, 'record' as source, 'farm_record' as kind, sheet_no, row_no, day, day as since,
        cast(activity as varchar) as activity, item, cost_minor, family_days, hired_days
    from farm_record
    where state = 'counted' and member_no is not null and day is not null
        and coalesce(cost_minor, family_days, hired_days) is not null
    union all
    select
        v.member_no, 'visit', 'visits', v.sheet_no, v.row_no, v.day, coalesce(v.recalled_from, d.first_day),
        cast(coalesce(v.work, 'other') as varchar), null, v.cost_minor, v.family_days, v.hired_days
    from visits as v
    cross join season_days as d
    where v.state = 'counted' and v.member_no is not null and v.day is not null
        and coalesce(v.cost_minor, v.family_days, v.hired_days) is not null
),
usual as (
    select source, activity, cast(median(cost_minor) as bigint) as middle_minor, count(distinct member_no) as members
    from told
    where cost_minor > 0
    group by source, activity
),
overlapping as (
    select distinct v.sheet_no, v.row_no
    from told as v
    inner join told as r
        on r.source = 'record' and r.member_no = v.member_no and r.activity = v.activity
        and r.day between v.since and v.day
    where v.source = 'visit'
)
select
    t.member_no, t.source, t.kind, t.sheet_no, t.row_no, t.day, t.activity,
    case
        when t.activity in ('transport', 'tools') then t.activity
        when t.activity in ('processing', 'drying') then 'processing'
        when t.item is not null and coalesce(t.hired_days, 0) = 0 then 'inputs'
        when t.item is null and t.hired_days > 0 then 'hired labour'
        when t.item is not null then 'inputs and labour'
        else 'other'
    end as heading,
    t.cost_minor, t.family_days, t.hired_days,
    o.row_no is null as counts,
    coalesce(
        t.cost_minor > l.cost_held_times * u.middle_minor and u.members >= l.peers_least, false
    ) and not exists (
        select 1 from decisions as c
        where c.kind = t.kind and c.sheet_no = t.sheet_no and c.row_no = t.row_no
            and c.action = 'count' and c.rule = 'cost-far-from-peers'
    ) as doubtful
from told as t
left join overlapping as o on o.sheet_no = t.sheet_no and o.row_no = t.row_no and t.source = 'visit'
left join usual as u on u.source = t.source and u.activity = t.activity
cross join (select * from limits_here where station = '' and species = '' and form = '') as l
order by t.kind, t.sheet_no, t.row_no
