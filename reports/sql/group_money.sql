-- Grain: one row per station and village of the register, and one for numbers that it lacks; kg green bean
-- equivalent, minor units.
with latest as (
    select member_no, village, station
    from members
    where state = 'counted'
    qualify row_number() over (partition by member_no order by sheet_no desc, row_no desc) = 1
)
select
    latest.station, latest.village, m.registered, count(*) as members,
    sum(m.gbe_kg)::decimal(14, 3) as gbe_kg, sum(m.opening_minor)::bigint as opening_minor,
    sum(m.value_minor)::bigint as value_minor,
    sum(m.premium_minor + m.second_minor + m.other_minor)::bigint as added_minor,
    sum(m.deducted_minor)::bigint as deducted_minor, sum(m.paid_minor)::bigint as paid_minor,
    sum(m.balance_minor)::bigint as balance_minor
from member_season as m
left join latest on m.registered and latest.member_no = m.member_no
group by latest.station, latest.village, m.registered
order by m.registered desc, latest.station, latest.village
