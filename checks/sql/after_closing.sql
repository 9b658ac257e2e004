-- Grain: one row per live row of a sheet that came in after its season was closed.
select c.sheet_no, c.row_no
from live_rows as c
inner join closing as g on c.sheet_no > g.last_sheet
