-- Grain: one row per heading and source of one member's costs: entries, cost in minor units, days of work, and
-- how many entries do not count or are doubtful.
select
    heading, source, count(*) as entries,
    cast(sum(cost_minor) filter (counts) as bigint) as cost_minor,
    cast(sum(family_days) filter (counts) as decimal(14, 1)) as family_days,
    cast(sum(hired_days) filter (counts) as decimal(14, 1)) as hired_days,
    count(*) filter (not counts) as not_counted,
    count(*) filter (doubtful) as doubtful
from member_cost
where member_no = $member
group by heading, source
order by heading, source
