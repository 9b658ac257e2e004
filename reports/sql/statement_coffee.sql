-- Grain: one row per member, species and form delivered; kg, value in minor units, and what its green bean
-- equivalent rests on where it is not green already.
select
    c.member_no, c.species, c.form, c.deliveries, c.net_kg, c.gbe_kg, c.value_minor,
    b.per_green, b.basis
from member_coffee as c
left join green_basis as b on b.species = c.species and b.form = c.form and b.form <> 'green'
where c.member_no in (select unnest($members::varchar[]))
order by c.member_no, c.species, c.form
