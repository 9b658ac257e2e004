-- Grain: one row per species and form that one member delivered: net kg as delivered and as green, and net kg a
-- bearing tree where the member has trees that can have borne it.
select
    c.species, c.form, c.net_kg, c.gbe_kg,
    case when y.trees_bearing > 0 then cast(round(cast(c.net_kg as double) / y.trees_bearing, 3) as decimal(14, 3)) end
        as net_per_tree_kg
from member_coffee as c
left join member_yield as y on y.member_no = c.member_no and y.species = c.species
where c.member_no = $member
order by c.species, c.form
