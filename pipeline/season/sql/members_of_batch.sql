-- Grain: one row per member with a weighing or payment in the sheets of one station ($station, empty
-- for sheets of no one station) and week ($week).
select w.member_no
from weighings as w
inner join sheets as s on s.sheet_no = w.sheet_no
where coalesce(s.station, '') = $station and s.week = $week and w.member_no is not null
union
select p.member_no
from payments as p
inner join sheets as s on s.sheet_no = p.sheet_no
where coalesce(s.station, '') = $station and s.week = $week and p.member_no is not null
order by member_no
