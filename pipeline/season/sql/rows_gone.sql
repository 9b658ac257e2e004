-- Grain: one row per row of an earlier sheet that the later one ($sheet_no) no longer has.
select s.name, g.row_no
from succession as g
inner join sheets as s on s.sheet_no = g.sheet_no
where g.by_sheet_no = $sheet_no and g.by_row_no is null
order by s.name, g.row_no
