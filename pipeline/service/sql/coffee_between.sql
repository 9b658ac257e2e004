-- Grain: one row per station and form of coffee counted between two days; kg, minor units.
select
    w.station,
    w.species,
    w.form,
    count(*) as deliveries,
    count(distinct w.member_no) as members,
    cast(sum(w.net_kg) as decimal(14, 3)) as net_kg,
    cast(coalesce(sum(v.gbe_kg), 0) as decimal(14, 3)) as gbe_kg,
    cast(coalesce(sum(v.value_minor), 0) as bigint) as value_minor
from weighings as w
left join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
where w.state = 'counted' and w.day between $first_day and $last_day
group by w.station, w.species, w.form
order by w.station, w.species, w.form
