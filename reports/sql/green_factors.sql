-- Grain: one row per species and form taken in that is not green already: kilograms of it for one of green
-- coffee, and what that rests on.
select b.species, b.form, b.per_green, b.basis
from green_basis as b
where b.form <> 'green'
    and (b.species, b.form) in (select species, form from member_coffee)
order by b.species, b.form
