-- Grain: one row per village and species with enough members who have bearing trees
-- and delivered.
-- Quartiles of kg green bean equivalent a bearing tree, by linear interpolation between members.
with latest as (
    select member_no, village
    from members
    where state = 'counted'
    qualify row_number() over (partition by member_no order by sheet_no desc, row_no desc) = 1
)
select
    latest.village, y.species, count(*) as members,
    round(quantile_cont(y.gbe_per_tree_kg, 0.25), 3)::decimal(14, 3) as lower_kg,
    round(quantile_cont(y.gbe_per_tree_kg, 0.75), 3)::decimal(14, 3) as upper_kg
from member_yield as y
join latest using (member_no)
where y.trees_bearing > 0 and y.gbe_per_tree_kg > 0
group by latest.village, y.species
having count(*) >= $least
order by latest.village, y.species
