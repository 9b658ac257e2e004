-- Grain: one row per member with a season: what some days brought, and the season so far.
-- kg green bean equivalent; minor units.
with these_days as (
    select
        w.member_no, count(*) as deliveries,
        coalesce(sum(v.gbe_kg), 0)::decimal(14, 3) as gbe_kg,
        coalesce(sum(v.value_minor), 0)::bigint as value_minor
    from weighings as w
    left join valued as v using (sheet_no, row_no)
    where w.state = 'counted' and w.day between $first and $last
    group by w.member_no
)
select
    m.member_no,
    coalesce(d.deliveries, 0) as deliveries,
    coalesce(d.gbe_kg, 0)::decimal(14, 3) as gbe_kg,
    coalesce(d.value_minor, 0)::bigint as value_minor,
    m.gbe_kg as so_far_gbe_kg,
    m.value_minor as so_far_value_minor,
    m.deducted_minor as so_far_deducted_minor,
    m.paid_minor as so_far_paid_minor,
    m.balance_minor as so_far_balance_minor
from member_season as m
left join these_days as d using (member_no)
order by m.member_no
