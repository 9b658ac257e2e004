-- Grain: one row per member and species with earlier seasons of counted trees: how many, kg green a bearing
-- tree in the last of them and on average.
select
    p.member_no, p.species, count(*) as seasons,
    round(avg(p.green_kg::double / p.trees_bearing), 3)::decimal(14, 3) as usual_kg,
    round(max_by(p.green_kg::double / p.trees_bearing, p.ended_on), 3)::decimal(14, 3) as last_kg
from past_crops as p
cross join season_days as d
where p.state = 'counted' and p.ended_on < d.first_day and p.trees_bearing > 0
    and p.member_no in (select unnest($members::varchar[]))
group by p.member_no, p.species
order by p.member_no, p.species
