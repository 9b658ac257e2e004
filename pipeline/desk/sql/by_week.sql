-- Grain: one row per week (its Monday) in which coffee was counted; kg of green bean equivalent.
select
    cast(date_trunc('week', w.day) as date) as week,
    count(*) as deliveries,
    cast(coalesce(sum(v.gbe_kg), 0) as decimal(14, 3)) as gbe_kg,
    cast(coalesce(sum(v.value_minor), 0) as bigint) as value_minor
from weighings as w
left join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
where w.state = 'counted' and w.day is not null
group by week
order by week
