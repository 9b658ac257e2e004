-- Grain: one row per declared station: what was counted there; kg, minor units.
select
    t.station, t.name,
    count(w.row_no) as deliveries,
    cast(coalesce(sum(w.net_kg), 0) as decimal(14, 3)) as net_kg,
    cast(coalesce(sum(v.gbe_kg), 0) as decimal(14, 3)) as gbe_kg,
    cast(coalesce(sum(v.value_minor), 0) as bigint) as value_minor,
    max(w.day) as last_day
from stations as t
left join weighings as w on w.station = t.station and w.state = 'counted'
left join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
group by t.station, t.name
order by t.station
