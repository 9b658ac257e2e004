-- Grain: one row per member and species with bearing trees; kg of green bean equivalent.
select y.member_no, y.species, y.trees_bearing, y.gbe_kg, y.gbe_per_tree_kg
from member_yield as y
where y.trees_bearing > 0 and y.member_no in (select unnest($members::varchar[]))
order by y.member_no, y.species
