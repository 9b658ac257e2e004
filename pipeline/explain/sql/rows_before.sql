-- Grain: one row per earlier season of one member ($member) and species ($one) with counted trees.
select
    'past_crops' as kind, p.sheet_no, p.row_no, 'green_kg' as col, p.green_kg as amount,
    [['crop', 'd' || p.ended_on, 'n' || p.trees_bearing,
        'n' || cast(round(cast(p.green_kg as double) / p.trees_bearing, 3) as decimal(14, 3))]] as says
from past_crops as p
cross join season_days as d
where p.state = 'counted' and p.ended_on < d.first_day and p.trees_bearing > 0
    and p.member_no = $member and p.species = $one
order by p.ended_on
