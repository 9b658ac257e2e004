-- Grain: one row per station and day of weighings that changed.
create or replace temp table touched_days as
select distinct r.station, r.day
from rows_weighings as r
inner join touched as t on t.kind = 'weighings' and t.sheet_no = r.sheet_no and t.row_no = r.row_no
