-- Grain: one row per station of the register; members whose margin is known, minor units.
with latest as (
    select member_no, station
    from members
    where state = 'counted'
    qualify row_number() over (partition by member_no order by sheet_no desc, row_no desc) = 1
)
select
    latest.station, count(*) as members,
    sum(m.value_minor)::bigint as value_minor, sum(m.variable_minor)::bigint as cost_minor,
    sum(m.margin_minor)::bigint as margin_minor,
    count(*) filter (m.margin_minor < 0) as below_zero
from member_margin as m
join latest using (member_no)
where m.margin_minor is not null
group by latest.station
order by latest.station
