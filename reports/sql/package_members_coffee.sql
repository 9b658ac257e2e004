-- Grain: one row per member, species and form delivered.
select member_no, species, form, deliveries, net_kg, gbe_kg, value_minor
from member_coffee
order by member_no, species, form
