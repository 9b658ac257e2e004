-- Grain: one row per station and week (its Monday); members who delivered, kg green bean equivalent.
select
    w.station, date_trunc('week', w.day)::date as week, count(distinct w.member_no) as members,
    coalesce(sum(v.gbe_kg), 0)::decimal(14, 3) as gbe_kg
from weighings as w
left join valued as v using (sheet_no, row_no)
where w.state = 'counted'
group by w.station, date_trunc('week', w.day)
order by w.station, week
