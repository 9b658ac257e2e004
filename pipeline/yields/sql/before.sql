-- Grain: one row per member and species with coffee of counted trees in the last earlier season: kg green a
-- tree, and what share of the best price it fetched.
with last as (
    select max(p.ended_on) as ended_on
    from past_crops as p
    cross join season_days as d
    where p.state = 'counted' and p.ended_on < d.first_day
)
select
    p.member_no, p.species,
    cast(p.green_kg as double) / p.trees_bearing as per_tree_before,
    cast(p.value_minor as double) / nullif(p.value_best_minor, 0) as quality_before
from past_crops as p
inner join last as l on l.ended_on = p.ended_on
where p.state = 'counted' and p.trees_bearing > 0 and p.green_kg > 0
order by p.member_no, p.species
