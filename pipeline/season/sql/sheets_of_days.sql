-- Grain: one row per sheet that has weighings of the days in `touched_days`.
create or replace temp table sheets_of_days as
select distinct s.sheet_no
from weighed_sheets as s
inner join touched_days as t on t.station = s.station and t.day = s.day
