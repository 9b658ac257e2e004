-- Grain: one row per species and form; kg, minor units.
select
    species, form, count(*) as members, sum(deliveries)::bigint as deliveries,
    sum(net_kg)::decimal(14, 3) as net_kg, sum(gbe_kg)::decimal(14, 3) as gbe_kg,
    sum(value_minor)::bigint as value_minor
from member_coffee
group by species, form
order by species, form
