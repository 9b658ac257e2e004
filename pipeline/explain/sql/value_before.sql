-- Grain: one row: kg green a bearing tree of one member ($member) and species ($one), the average of earlier seasons.
select cast(round(avg(cast(p.green_kg as double) / p.trees_bearing), 3) as decimal(14, 3)) as value
from past_crops as p
cross join season_days as d
where p.state = 'counted' and p.ended_on < d.first_day and p.trees_bearing > 0
    and p.member_no = $member and p.species = $one
having count(*) > 0
