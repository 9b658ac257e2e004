-- Grain: one row per member, species and form delivered; kg, value in minor units.
select member_no, species, form, deliveries, net_kg, gbe_kg, value_minor
from member_coffee
where member_no in (select unnest($members::varchar[]))
order by member_no, species, form
