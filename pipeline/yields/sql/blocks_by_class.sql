-- Grain: one row per species, age class and wood of blocks that bore, with at least five members: blocks,
-- members, quartiles of kg green a tree, and how many lie below, in and above their expected band.
select
    species, age_class, wood, count(*) as blocks, count(distinct member_no) as members,
    round(quantile_cont(per_tree_kg, 0.25), 3)::decimal(14, 3) as lower,
    round(quantile_cont(per_tree_kg, 0.5), 3)::decimal(14, 3) as middle,
    round(quantile_cont(per_tree_kg, 0.75), 3)::decimal(14, 3) as upper,
    count(*) filter (per_tree_kg < expected_low_kg) as below,
    count(*) filter (per_tree_kg between expected_low_kg and expected_high_kg) as inside,
    count(*) filter (per_tree_kg > expected_high_kg) as above
from block_yield
where held is null
group by species, age_class, wood
having count(distinct member_no) >= 5
order by species, age_class, wood
