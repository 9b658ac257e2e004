-- Grain: one row per earlier season and species of one member: kg green, bearing trees, kg a tree.
select
    p.ended_on, p.species, p.green_kg, p.trees_bearing,
    case when p.trees_bearing > 0
        then cast(round(cast(p.green_kg as double) / p.trees_bearing, 3) as decimal(14, 3)) end as per_tree_kg
from past_crops as p
cross join season_days as d
where p.state = 'counted' and p.member_no = $member and p.ended_on < d.first_day
order by p.ended_on desc, p.species
