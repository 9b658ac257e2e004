-- Grain: one row per member, species and form delivered; kg, value in minor units.
select member_no, species, form, deliveries, net_kg, gbe_kg, value_minor,
    (
        select b.per_green || ' kg for one of green (' || b.basis || ')'
        from green_basis as b
        where b.species = member_coffee.species and b.form = member_coffee.form and b.form <> 'green'
    ) as per_green
from member_coffee
where member_no in (select unnest($members::varchar[]))
order by member_no, species, form
