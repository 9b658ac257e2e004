-- Grain: one row per species and village, villages with too few members together as one (name null).
-- Members who delivered; kg green bean equivalent a bearing tree: lowest, quartiles by linear interpolation, highest.
with latest as (
    select member_no, village
    from members
    where state = 'counted'
    qualify row_number() over (partition by member_no order by sheet_no desc, row_no desc) = 1
),
trees as (
    select
        y.species, y.gbe_per_tree_kg,
        case when count(*) over (partition by y.species, latest.village) >= $least
             then latest.village end as village
    from member_yield as y
    join latest using (member_no)
    where y.trees_bearing > 0 and y.gbe_per_tree_kg > 0
)
select
    species, village, count(*) as members,
    min(gbe_per_tree_kg)::decimal(14, 3) as low,
    round(quantile_cont(gbe_per_tree_kg, 0.25), 3)::decimal(14, 3) as lower,
    round(quantile_cont(gbe_per_tree_kg, 0.5), 3)::decimal(14, 3) as middle,
    round(quantile_cont(gbe_per_tree_kg, 0.75), 3)::decimal(14, 3) as upper,
    max(gbe_per_tree_kg)::decimal(14, 3) as high
from trees
group by species, village
having count(*) >= $least
order by species, village nulls last
