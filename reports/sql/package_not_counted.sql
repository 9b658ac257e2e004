-- Grain: one row per typed row of a sheet that does not count.
select kind, sheet_no, row_no, cast(state as varchar) as state
from exceptions
order by sheet_no, row_no
