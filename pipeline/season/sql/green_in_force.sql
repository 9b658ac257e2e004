-- Grain: one row per species and form that was taken in: kilograms for one of green, and by what.
select b.species, b.form, b.per_green, b.basis, b.measured_kg
from green_basis as b
where b.form <> 'green'
    and (b.species, b.form) in (select species, form from member_coffee)
order by b.species, b.form
