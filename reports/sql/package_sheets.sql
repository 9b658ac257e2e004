-- Grain: one row per sheet taken into the season.
select s.sheet_no, s.kind, s.station, s.week, s.version, s.taken_day, s.arrived, t.counted, s.sha256, s.name
from sheets as s
join sheet_states as t using (sheet_no)
order by s.sheet_no
